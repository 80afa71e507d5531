"""Shelf lives through mixing: the oldest of what goes into a batch governs it until it is frozen or handed over.

The clock of a component starts as its last work ends, and runs on in whatever it is mixed into. Freezing pauses it: a
step that freezes must have started before any clock ends, early enough to leave time for serving. What is not frozen
must be handed over by then. What is taken out of the freezer for another mix goes on where it was stopped, from the
start of the step that takes it. How much was used up before it was frozen is known only once it is: until then the life
is shared between the time before and the time after, so that both are limits of their own, and together never too long.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from orchestrator.core.ids import LotCode, OrderId, RecipeId, StepId, TaskId
from orchestrator.core.models import Batch, LeftOverIn, Life, Recipe, StockLot, WindowClass
from orchestrator.core.models.recipe import Step
from orchestrator.planner.lots import Ledger, Pegged, actuals_of
from orchestrator.planner.sizes import batch_steps, machines_of, order_steps, terminal_stay

Limits = dict[StepId, tuple[Life, ...]]
Left = tuple[LotCode, int]
"""A lot, and the minutes of its life that are left as it is frozen."""


@dataclass(slots=True)
class _Walk:
    """Where a batch stands, step by step."""

    running: list[Life] = field(default_factory=list)
    paused: list[Left] = field(default_factory=list)
    limits: Limits = field(default_factory=dict)
    taken: set[RecipeId] = field(default_factory=set)
    work: Step | None = None
    """The newest that was no stay."""
    frozen: bool = False


class Lives:
    """What is left of shelf lives, for every batch and order line of a ledger."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._known: dict[LotCode, tuple[Limits, tuple[Life, ...], tuple[Left, ...]]] = {}
        self._facts = actuals_of(ledger.request)
        self._pegged = Pegged(ledger)
        self._handed_over: dict[RecipeId | None, int] = {}
        self._left_over: dict[TaskId, list[LeftOverIn]] = {}
        for one in ledger.request.left_overs:
            self._left_over.setdefault(one.task, []).append(one)

    def of_batch(self, lot: LotCode) -> Limits:
        """By step of a batch: the lives that must not have ended when it starts."""
        return self._through(lot)[0]

    def of_line(self, order: OrderId, recipe: Recipe) -> tuple[Life, ...]:
        """The lives that must not have ended when a product has been handed over, counted to the start of that work."""
        steps = order_steps(recipe)
        first: dict[RecipeId, Step | None] = {recipe.id: None}
        for step in steps:
            for component in (take.component for take in step.takes if take.component is not None):
                first.setdefault(component, step)
        lives = [life for name in first for life in self._taken(name, order=order)]
        prefix = f"{order}.{recipe.code}"
        for component, by in first.items():
            # Taken by the very step that hands it over, it is out for no longer than that lasts.
            if by is not None and by is not steps[-1]:
                lives += self._thawed(component, by, TaskId(f"{prefix}.{by.id}"), order=order)
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

    def _through(self, lot: LotCode) -> tuple[Limits, tuple[Life, ...], tuple[Left, ...]]:
        if lot not in self._known:
            self._known[lot] = {}, (), ()  # whatever takes itself, by a fault, takes nothing
            self._known[lot] = self._read(self._ledger.batches[lot])
        return self._known[lot]

    def _read(self, batch: Batch) -> tuple[Limits, tuple[Life, ...], tuple[Left, ...]]:
        """Limits on its steps, the clocks that still run when it is made, and those that freezing has stopped."""
        recipe = self._ledger.made_by(batch)
        steps, walk = batch_steps(recipe), _Walk()
        walk.running += [Life(lot=batch.lot, until=batch.oldest)] if batch.oldest is not None else []
        for number, step in enumerate(steps):
            if walk.frozen and step.thaws:
                # A stay begins to thaw as the step before it ends.
                task = TaskId(f"{batch.lot}.{steps[number if step.stay is None else number - 1].id}")
                walk.running += self._going_on(walk.paused, step, task)
                walk.paused, walk.frozen = [], False
            self._enter(batch, step, walk)
            self._enter_left_overs(batch, step, walk)
            walk.work = walk.work if step.stay is not None else step
            if step.freezes and walk.work is not None:
                self._freeze(batch, step, walk.work, steps[number + 1 :], walk)
        running, paused = walk.running, walk.paused
        if recipe.shelf_life is not None and not walk.frozen and walk.work is not None:
            running.append(Life(lot=batch.lot, after=TaskId(f"{batch.lot}.{walk.work.id}"), most=recipe.shelf_life))
        elif recipe.shelf_life is not None:
            paused.append((batch.lot, max(0, recipe.shelf_life - _between(recipe))))
        return walk.limits, tuple(running), tuple(paused)

    def _enter(self, batch: Batch, step: Step, walk: "_Walk") -> None:
        """What a step is the first to take comes in with its clocks, those that stand still included."""
        for component in (take.component for take in step.takes if take.component is not None):
            if component not in walk.taken:
                walk.taken.add(component)
                lives = self._taken(component, batch=batch.lot)
                walk.running += [life for life in lives if not (step.freezes and self._bound_by_taking(life))]
                walk.running += self._thawed(component, step, TaskId(f"{batch.lot}.{step.id}"), batch=batch.lot)
                walk.paused += self._stays_frozen(component, batch=batch.lot) if step.freezes else ()

    def _enter_left_overs(self, batch: Batch, step: Step, walk: "_Walk") -> None:
        """Their dates run on in the batch; those that are cooked again run until then."""
        for one in self._left_over.get(TaskId(f"{batch.lot}.{step.id}"), ()):
            life = Life(lot=one.lot, until=one.until)
            if one.cooked_in is None:
                walk.running.append(life)
            elif one.cooked_in != step.id:
                walk.limits[one.cooked_in] = walk.limits.get(one.cooked_in, ()) + self._binding([life])

    def _freeze(self, batch: Batch, step: Step, work: Step, rest: Sequence[Step], walk: "_Walk") -> None:
        """All clocks must not have ended by then, and stand still from there."""
        recipe, running = self._ledger.made_by(batch), walk.running
        before = self._serving(recipe) + (self._minutes(work) if step.stay is not None else 0)
        after_thaw = self._after_thaw(batch.lot, rest)
        kept = [_share(life, after_thaw) for life in running]
        walk.limits[work.id] = walk.limits.get(work.id, ()) + self._binding(
            _sooner(life, before + share)
            for life, share in zip(running, kept, strict=True)
            # What is taken out by the very work that is frozen as it ends is out for no longer.
            if life.after != TaskId(f"{batch.lot}.{work.id}")
        )
        begins = self._frozen_at(batch.lot, work, stay=step.stay is not None)
        walk.paused += [(life.lot, self._left(life, begins, share)) for life, share in zip(running, kept, strict=True)]
        walk.running, walk.frozen = [], True

    def _thawed(
        self,
        component: RecipeId,
        step: Step,
        task: TaskId,
        *,
        batch: LotCode | None = None,
        order: OrderId | None = None,
    ) -> Iterator[Life]:
        """Clocks that go on as a step takes frozen food; none where that step freezes again at once."""
        if not step.freezes and step.stay is None:
            yield from self._going_on(self._stays_frozen(component, batch=batch, order=order), step, task)

    def _going_on(self, paused: Iterable[Left], step: Step, task: TaskId) -> Iterator[Life]:
        """Lives that go on as a step starts, counted from the end of a task: its own, or of what is before a stay."""
        out = 0 if step.stay is not None else self._minutes(step, longest=True)
        for lot, left in paused:
            yield Life(lot=lot, after=task, most=max(0, left - out))

    def _stays_frozen(
        self, component: RecipeId, *, batch: LotCode | None = None, order: OrderId | None = None
    ) -> Iterator[Left]:
        """What is left of the lives of the frozen lots that a batch, or an order's own step, takes of a component."""
        ledger = self._ledger
        for peg in self._pegged.taken(component, batch, order):
            stock = ledger.stock(peg.lot)
            found = self._through(peg.lot)[2] if stock is None else self._frozen_stock(stock)
            yield from ((lot, left) for lot, left in found if left > 0)

    def _frozen_stock(self, stock: StockLot) -> list[Left]:
        """Of stock in a freezer nobody wrote down when it was frozen: it counts as frozen as it was made."""
        recipe = self._ledger.recipe(stock.recipe)
        frozen = recipe.ends_frozen
        return [(stock.lot, recipe.shelf_life)] if frozen and recipe.shelf_life is not None else []

    def _after_thaw(self, lot: LotCode, rest: Sequence[Step]) -> int:
        """Minutes that are needed, at most, from the thaw of a lot until it is frozen again or handed over.

        Args:
            lot: Of a batch that is frozen.
            rest: Its own steps from then on: it may thaw among them; else whatever takes it thaws it.
        """
        ledger = self._ledger
        out = next((number for number, step in enumerate(rest) if step.thaws), None)
        needed = 0 if out is None else self._until_freezing(rest[out:])
        if out is not None and any(step.freezes for step in rest[out:]):
            return needed
        longest = 0
        for peg in self._pegged.of_lot(lot):
            taker = ledger.batches.get(peg.batch) if peg.batch is not None else None
            if taker is not None:
                more = self._until_frozen(ledger.made_by(taker), ledger.recipe_of(lot))
                longest = max(longest, more)
            elif peg.order is not None:
                component = ledger.recipe_of(lot)
                if component not in self._handed_over:
                    self._handed_over[component] = self._until_handed_over(component)
                longest = max(longest, self._handed_over[component])
        return needed + longest

    def _until_frozen(self, recipe: Recipe, component: RecipeId | None) -> int:
        """From the step that takes a component; all of it and the hand-over, where nothing freezes."""
        steps = batch_steps(recipe)
        takes = (n for n, step in enumerate(steps) if any(take.component == component for take in step.takes))
        return self._until_freezing(steps[next(takes, len(steps)) :]) + self._serving(recipe)

    def _until_handed_over(self, component: RecipeId | None) -> int:
        """From an order's own step that takes a component, at most."""
        needed = 0
        for recipe in self._ledger.kitchen.recipes:
            steps = order_steps(recipe)
            takes = (n for n, step in enumerate(steps) if any(take.component == component for take in step.takes))
            needed = max(needed, self._until_freezing(steps[next(takes, len(steps)) :]))
        return needed

    def _until_freezing(self, steps: Sequence[Step]) -> int:
        minutes = 0
        for step in steps:
            if step.freezes:
                break
            minutes += step.stay.least if step.stay is not None else self._minutes(step, longest=True)
        return minutes

    def _frozen_at(self, lot: LotCode, work: Step, *, stay: bool) -> datetime | None:
        """When a lot began to freeze in fact; none while it has not."""
        fact = self._facts.get(TaskId(f"{lot}.{work.id}"))
        if fact is None or (stay and fact.status != "done"):
            return None
        return fact.end if stay else fact.start

    def _left(self, life: Life, frozen_at: datetime | None, share: int) -> int:
        """Minutes of a life that are left as it is frozen: in fact, else what was kept for afterwards."""
        made = self._facts.get(life.after) if life.after is not None else None
        until = life.until
        if until is None and made is not None and made.status == "done":
            until = made.end + timedelta(minutes=life.most or 0)
        if until is None or frozen_at is None:
            return share
        return int((until - frozen_at).total_seconds() // 60)

    def _taken(self, recipe: RecipeId, *, batch: LotCode | None = None, order: OrderId | None = None) -> list[Life]:
        """Clocks of the lots that a consumer takes of a recipe."""
        ledger, found = self._ledger, list[Life]()
        for peg in self._pegged.taken(recipe, batch, order):
            stock = ledger.stock(peg.lot)
            found += self._through(peg.lot)[1] if stock is None else self._on_hand(stock, handed_over=order is not None)
        return found

    def _on_hand(self, stock: StockLot, *, handed_over: bool) -> list[Life]:
        recipe = self._ledger.recipe(stock.recipe)
        frozen = recipe.ends_frozen
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

    def _minutes(self, step: Step, *, longest: bool = False) -> int:
        """Usual minutes of a step on the slowest of its machines, or the longest."""
        usual = step.duration.usual if step.duration is not None else step.cycle.each if step.cycle is not None else 0
        usual = step.duration.longest if longest and step.duration is not None else usual
        return max((m.minutes(usual) for m in machines_of(self._ledger.kitchen, step.equipment)), default=usual)


def _share(life: Life, after_thaw: int) -> int:
    """Minutes of a life that are kept for after the freezer: what is needed there, and half of what is left over."""
    if not after_thaw or life.most is None:
        return after_thaw
    return after_thaw + max(0, life.most - after_thaw) // 2


def _between(recipe: Recipe) -> int:
    """Minutes that a lot may stand cold between its last work and the freezer, at most."""
    minutes = 0
    for step in reversed(batch_steps(recipe)):
        if step.stay is None:
            break
        minutes = minutes + (step.stay.most or 0) if not step.freezes else 0
    return minutes


def _sooner(life: Life, minutes: int) -> Life:
    """The same, so many minutes sooner."""
    if life.until is not None:
        return life.model_copy(update={"until": life.until - timedelta(minutes=minutes)})
    return life.model_copy(update={"most": max(0, (life.most or 0) - minutes)})
