"""What is left of shelf lives: the oldest of what went into a lot governs it, and freezing pauses it."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cached_property

from orchestrator.core.ids import LotCode, RecipeId, TaskId
from orchestrator.core.models import Batch, Kitchen, LeftOverIn, Peg, Plan, Recipe, Step, StockLot

Ends = Callable[[TaskId], datetime | None]
"""When a task ended, or is expected to; none if that is not known."""
Starts = Callable[[TaskId], datetime | None]
"""The same of its start."""


@dataclass(frozen=True, slots=True)
class Clock:
    """A life that runs out."""

    lot: LotCode
    """Whose it is."""
    until: datetime


@dataclass(frozen=True, slots=True)
class Paused:
    """A life that freezing has stopped."""

    lot: LotCode
    left: timedelta


@dataclass(frozen=True, slots=True)
class Due:
    """A task at the start of which, or at the end if it is a hand-over, none of these may have run out."""

    task: TaskId
    clocks: tuple[Clock, ...]
    by_end: bool
    """True: handed over by then; False: begun to freeze by then."""


@dataclass(frozen=True, slots=True)
class _Made:
    """What a batch brings into whatever takes it."""

    running: list[Clock] = field(default_factory=list)
    paused: list[Paused] = field(default_factory=list)
    dues: list[Due] = field(default_factory=list)


@dataclass(frozen=True)
class Clocks:
    """The lives of all lots of a plan.

    Source: that what is combined keeps the date of the ingredient prepared first is FDA Food Code 2022, 3-501.17,
    and that days frozen do not count its Annex 3 on the same paragraph (both from memory); the lives themselves are
    the kitchen's. Local code decides.
    """

    plan: Plan
    kitchen: Kitchen
    ends: Ends
    starts: Starts = field(default=lambda _: None)
    """Food is taken out of the freezer as the step that takes it starts; left out, what is thawed starts no clock."""
    left_overs: Sequence[LeftOverIn] = ()
    """With a date, that steps have taken."""

    @cached_property
    def _recipes(self) -> Mapping[RecipeId, Recipe]:
        return {recipe.id: recipe for recipe in self.kitchen.recipes}

    @cached_property
    def _batches(self) -> Mapping[LotCode, Batch]:
        return {batch.lot: batch for batch in self.plan.batches}

    @cached_property
    def _stock(self) -> Mapping[LotCode, StockLot]:
        return {stock.lot: stock for stock in self.kitchen.stock}

    @cached_property
    def _taken(self) -> Mapping[str, Sequence[Peg]]:
        """Pegs by who takes them."""
        found: dict[str, list[Peg]] = {}
        for peg in self.plan.pegs:
            found.setdefault(peg.consumer, []).append(peg)
        return found

    @cached_property
    def _left_over(self) -> Mapping[TaskId, Sequence[LeftOverIn]]:
        found: dict[TaskId, list[LeftOverIn]] = {}
        for one in self.left_overs:
            found.setdefault(one.task, []).append(one)
        return found

    def _made_by(self, batch: Batch) -> Recipe | None:
        return self.kitchen.made_by(batch.recipe, batch.revision)

    def dues(self) -> Iterator[Due]:
        """Every task by which clocks must not have run out: the first that freezes, else the hand-over."""
        for batch in self.plan.batches:
            yield from self._walk(batch, frozenset()).dues
        for order in self.kitchen.orders:
            for product in dict.fromkeys(line.product for line in order.lines):
                recipe = self._recipes.get(product)
                clocks = tuple(self._of_line(order.id, recipe)) if recipe is not None else ()
                if recipe is not None and clocks:
                    steps = [step.id for step in recipe.steps if step.per == "order"]
                    last = steps[-1] if steps else "hand-over"
                    yield Due(TaskId(f"{order.id}.{recipe.code}.{last}"), clocks, by_end=True)

    def use_by(self, lot: LotCode) -> datetime | None:
        """The last instant at which a lot may be used or handed over; none if nothing limits it or is not known yet."""
        stock, batch = self._stock.get(lot), self._batches.get(lot)
        if stock is not None:
            return stock.use_by
        recipe = self._made_by(batch) if batch is not None else None
        if batch is None or recipe is None:
            return None
        made = self._made(batch, recipe)
        own = (
            made + timedelta(minutes=recipe.shelf_life) if made is not None and recipe.shelf_life is not None else None
        )
        clocks = [clock.until for clock in self._walk(batch, frozenset()).running]
        # Reworked food keeps the date it had, also where freezing has paused what runs besides.
        return min([*clocks, *(until for until in (own, batch.oldest) if until is not None)], default=None)

    def _walk(self, batch: Batch, above: frozenset[LotCode]) -> _Made:
        """Clocks that still run in a batch once it is made, those that freezing stopped, and the tasks it began by."""
        recipe = self._made_by(batch)
        if recipe is None or batch.lot in above:
            return _Made()
        running = [Clock(batch.lot, batch.oldest)] if batch.oldest is not None else []
        paused: list[Paused] = []
        dues: list[Due] = []
        met: set[RecipeId] = set()
        frozen_at: datetime | None = None
        frozen, work, before = False, TaskId(""), TaskId("")
        for step in (step for step in recipe.steps if step.per == "batch"):
            task = TaskId(f"{batch.lot}.{step.id}")
            if frozen and step.thaws:
                # A stay begins to thaw as it is taken out of where it was frozen.
                running += _thawed(paused, self.ends(before) if step.stay is not None else self.starts(task))
                paused, frozen, frozen_at = [], False, None
            running += self._entering(batch.lot, step, met, above | {batch.lot})
            for one in self._left_over.get(task, ()):
                clock = Clock(one.lot, one.until)
                cooked = TaskId(f"{batch.lot}.{one.cooked_in}") if one.cooked_in is not None else None
                running += [clock] if cooked is None else []
                dues += [Due(cooked, (clock,), by_end=False)] if cooked not in (None, task) else []
            if step.freezes:
                # A stay begins to freeze as the work before it ends.
                dues += [Due(work if step.stay is not None else task, tuple(running), by_end=step.stay is not None)]
                at = self.ends(work) if step.stay is not None else self.starts(task)
                frozen_at = at if frozen_at is None else frozen_at
                paused += [Paused(clock.lot, clock.until - at) for clock in running if at is not None]
                running, frozen = [], True
            work, before = (work if step.stay is not None else task), task
        made = self._made(batch, recipe)
        if recipe.shelf_life is not None and made is not None:
            own = Clock(batch.lot, made + timedelta(minutes=recipe.shelf_life))
            if frozen and frozen_at is not None:
                paused.append(Paused(batch.lot, own.until - max(made, frozen_at)))
            running += [] if frozen else [own]
        return _Made(running, paused, [due for due in dues if due.clocks])

    def _entering(self, consumer: str, step: Step, met: set[RecipeId], above: frozenset[LotCode]) -> Iterator[Clock]:
        """Clocks of the lots whose component this step is the first to take; what was frozen goes on from here."""
        task = TaskId(f"{consumer}.{step.id}")
        for take in step.takes:
            if take.component is not None and take.component not in met:
                met.add(take.component)
                yield from self._of_lots(consumer, take.component, above, out_at=self.starts(task))

    def _of_line(self, order: str, recipe: Recipe) -> Iterator[Clock]:
        """What is handed over frozen waits; a frozen component goes on from the order's own step that takes it."""
        yield from self._of_lots(order, recipe.id, frozenset(), handed_over=True)
        met: set[RecipeId] = {recipe.id}
        for step in (step for step in recipe.steps if step.per == "order"):
            out_at = None if step.freezes else self.starts(TaskId(f"{order}.{recipe.code}.{step.id}"))
            for take in step.takes:
                if take.component is not None and take.component not in met:
                    met.add(take.component)
                    yield from self._of_lots(order, take.component, frozenset(), handed_over=True, out_at=out_at)

    def _of_lots(
        self,
        consumer: str,
        recipe: RecipeId,
        above: frozenset[LotCode],
        *,
        handed_over: bool = False,
        out_at: datetime | None = None,
    ) -> Iterator[Clock]:
        for peg in self._taken.get(consumer, ()):
            batch, stock = self._batches.get(peg.lot), self._stock.get(peg.lot)
            if batch is not None and batch.recipe == recipe:
                made = self._walk(batch, above)
                yield from made.running
                yield from _thawed(made.paused, out_at)
            elif stock is not None and stock.recipe == recipe:
                yield from self._on_hand(stock, handed_over=handed_over)
                yield from _thawed(self._frozen_stock(stock), out_at)

    def _frozen_stock(self, stock: StockLot) -> list[Paused]:
        """Of stock in a freezer nobody wrote down when it was frozen: it counts as frozen as it was made."""
        recipe = self._recipes.get(stock.recipe)
        if recipe is None or recipe.shelf_life is None or not recipe.ends_frozen:
            return []
        return [Paused(stock.lot, timedelta(minutes=recipe.shelf_life))]

    def _on_hand(self, stock: StockLot, *, handed_over: bool) -> Iterator[Clock]:
        recipe = self._recipes.get(stock.recipe)
        frozen = recipe is not None and recipe.ends_frozen
        if frozen and not handed_over:
            return
        if stock.use_by is not None:
            yield Clock(stock.lot, stock.use_by)
        elif recipe is not None and recipe.shelf_life is not None and not frozen:
            yield Clock(stock.lot, stock.made + timedelta(minutes=recipe.shelf_life))

    def _made(self, batch: Batch, recipe: Recipe) -> datetime | None:
        """When the last work on a batch ends."""
        work = [step.id for step in recipe.steps if step.per == "batch" and step.stay is None]
        return self.ends(TaskId(f"{batch.lot}.{work[-1]}")) if work else None


def _thawed(paused: Iterable[Paused], out_at: datetime | None) -> Iterator[Clock]:
    """Lives that go on where freezing stopped them; one that had run out by then was told as it was frozen."""
    if out_at is not None:
        yield from (Clock(one.lot, out_at + one.left) for one in paused if one.left > timedelta(0))
