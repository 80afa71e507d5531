"""Shelf lives through mixing: the oldest of what goes into a batch governs it until it is frozen or handed over.

The clock of a component starts as its last work ends, and runs on in whatever it is mixed into. Freezing pauses it: a
step that freezes must have started before any clock ends, early enough to leave time for serving. What is not frozen
must be handed over by then. What is thawed for another mix starts no clock here: the windows of its recipe bound it.
"""

from collections.abc import Iterable
from datetime import timedelta

from orchestrator.core.ids import LotCode, OrderId, RecipeId, StepId, TaskId
from orchestrator.core.models import Batch, Life, Recipe, StockLot, WindowClass
from orchestrator.core.models.recipe import Step
from orchestrator.planner.lots import Ledger
from orchestrator.planner.sizes import batch_steps, machines_of, order_steps, terminal_stay

Limits = dict[StepId, tuple[Life, ...]]


class Lives:
    """What is left of shelf lives, for every batch and order line of a ledger."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._known: dict[LotCode, tuple[Limits, tuple[Life, ...]]] = {}

    def of_batch(self, lot: LotCode) -> Limits:
        """By step of a batch: the lives that must not have ended when it starts."""
        return self._through(lot)[0]

    def of_line(self, order: OrderId, recipe: Recipe) -> tuple[Life, ...]:
        """The lives that must not have ended when a product has been handed over, counted to the start of that work."""
        wanted = [recipe.id, *(t.component for s in order_steps(recipe) for t in s.takes if t.component is not None)]
        lives = [life for name in dict.fromkeys(wanted) for life in self._taken(name, order=order)]
        steps = order_steps(recipe)
        return self._binding(_sooner(life, self._minutes(steps[-1]) if steps else 0) for life in lives)

    def _binding(self, lives: Iterable[Life]) -> tuple[Life, ...]:
        """Those that can end before the planned days do."""
        kitchen = self._ledger.kitchen
        whole = kitchen.horizon_days * 1440
        return tuple(
            life
            for life in lives
            if (life.until < kitchen.planned_until if life.until is not None else (life.most or 0) < whole)
        )

    def _through(self, lot: LotCode) -> tuple[Limits, tuple[Life, ...]]:
        if lot not in self._known:
            self._known[lot] = {}, ()  # whatever takes itself, by a fault, takes nothing
            self._known[lot] = self._read(self._ledger.batches[lot])
        return self._known[lot]

    def _read(self, batch: Batch) -> tuple[Limits, tuple[Life, ...]]:
        """Limits on its steps, and the clocks that still run when it is made."""
        recipe = self._ledger.made_by(batch)
        running = [Life(lot=batch.lot, until=batch.oldest)] if batch.oldest is not None else []
        limits: dict[StepId, tuple[Life, ...]] = {}
        taken: set[RecipeId] = set()
        work: Step | None = None
        frozen = False
        for step in batch_steps(recipe):
            for component in (t.component for t in step.takes if t.component is not None):
                if component not in taken:
                    taken.add(component)
                    lives = self._taken(component, batch=batch.lot)
                    running += [life for life in lives if not (step.freezes and self._bound_by_taking(life))]
            if step.stay is None:
                work = step
            if step.freezes and work is not None:
                before = self._serving(recipe) + (self._minutes(work) if step.stay is not None else 0)
                limits[work.id] = limits.get(work.id, ()) + self._binding(_sooner(life, before) for life in running)
                running, frozen = [], True
        if not frozen and recipe.shelf_life is not None and work is not None:
            running.append(Life(lot=batch.lot, after=TaskId(f"{batch.lot}.{work.id}"), most=recipe.shelf_life))
        return limits, tuple(running)

    def _taken(self, recipe: RecipeId, *, batch: LotCode | None = None, order: OrderId | None = None) -> list[Life]:
        """Clocks of the lots that a consumer takes of a recipe."""
        ledger, found = self._ledger, list[Life]()
        for peg in ledger.pegs:
            if peg.batch != batch or peg.order != order or ledger.recipe_of(peg.lot) != recipe:
                continue
            stock = ledger.stock(peg.lot)
            found += self._through(peg.lot)[1] if stock is None else self._on_hand(stock, handed_over=order is not None)
        return found

    def _on_hand(self, stock: StockLot, *, handed_over: bool) -> list[Life]:
        recipe = self._ledger.recipe(stock.recipe)
        frozen = any(step.freezes for step in batch_steps(recipe))
        if frozen and not handed_over:
            return []
        until = stock.use_by
        if until is None and recipe.shelf_life is not None and not frozen:
            until = stock.made + timedelta(minutes=recipe.shelf_life)
        return [] if until is None else [Life(lot=stock.lot, until=until)]

    def _bound_by_taking(self, life: Life) -> bool:
        """Whether the window in which the lot itself may be taken is no wider than the life, and as hard."""
        if life.until is not None:
            stock = self._ledger.stock(life.lot)
            return stock is not None and stock.use_by is not None
        recipe = self._ledger.made_by(self._ledger.batches[life.lot])
        stay = terminal_stay(recipe)
        if stay is None or stay.stay is None:
            return True
        most = stay.stay.most
        return stay.stay.window is WindowClass.SAFETY and most is not None and most <= (life.most or 0)

    def _serving(self, recipe: Recipe) -> int:
        """Minutes out of the freezer until it is handed over: for them, too, life must be left."""
        return sum(self._minutes(step) for step in order_steps(recipe)) if recipe.makes == "product" else 0

    def _minutes(self, step: Step) -> int:
        """Usual minutes of a step on the slowest of its machines."""
        usual = step.duration.usual if step.duration is not None else step.cycle.each if step.cycle is not None else 0
        return max((m.minutes(usual) for m in machines_of(self._ledger.kitchen, step.equipment)), default=usual)


def _sooner(life: Life, minutes: int) -> Life:
    """The same, so many minutes sooner."""
    if life.until is not None:
        return life.model_copy(update={"until": life.until - timedelta(minutes=minutes)})
    return life.model_copy(update={"most": max(0, (life.most or 0) - minutes)})
