"""The books of material: of every lot what there was, what was taken by which task into what, lost, handed over, left.

Every movement stands once, and is read from both sides: what a lot gave is what its takers took. So the books balance
lot by lot, ``start + corrected = taken + lost + left``, and a trace closes in both directions.
"""

from collections import defaultdict
from collections.abc import Callable, Container, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import lru_cache
from typing import Final, Literal

from orchestrator.core.ids import LotCode, OrderId, SupplyLotId, TaskId
from orchestrator.core.left_over import aside, by_source
from orchestrator.core.models import Batch, Measure, Process, Recipe
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.pantry import LEAST
from orchestrator.core.plan_index import Same, plan_index
from orchestrator.core.quantities import Unit
from orchestrator.core.state import LotStatus, State, TaskStatus
from orchestrator.core.whole import whole

MEASURES: Final = {Measure.WEIGHT_KG: Unit.KILOGRAM, Measure.VOLUME_L: Unit.LITRE, Measure.COUNT: Unit.EACH}
"""In which unit each is entered."""
_OVER: Final = (TaskStatus.DONE, TaskStatus.SKIPPED)
_LONG_AGO: Final = datetime.min.replace(tzinfo=UTC)
How = Literal["on hand", "received", "measured", "counted pieces", "planned", "in work", "not begun", "left over"]


@dataclass(frozen=True, slots=True)
class Part:
    """So much of one lot went into another, or to an order, as a task began."""

    lot: str
    into: str
    task: TaskId
    at: datetime | None
    value: float
    asked: float
    """What the plan meant; the lot may have had less."""
    unit: Unit
    to_order: bool
    handed_over: bool = False
    left_over: bool = False
    """A by-product: it left the batch before that became what its own account counts, in a unit of its own."""


@dataclass(frozen=True, slots=True)
class Account:
    """One lot's books, in its own unit."""

    lot: str
    unit: Unit
    start: float
    """Made, on hand or received. While it is in work, and when it was thrown away unfinished: what was to become of
    it."""
    how: How
    parts: tuple[Part, ...]
    corrected: float
    """What counts have added, or taken away."""
    lost: float
    """What was thrown away of it."""
    left: float
    leaves: tuple[Part, ...] = ()
    """What the batch has left over for others. It is none of what its account counts, which is net of it."""

    @property
    def taken(self) -> float:
        """What went into other lots and to orders."""
        return sum(part.value for part in self.parts)

    @property
    def handed_over(self) -> float:
        """Of that, what customers have."""
        return sum(part.value for part in self.parts if part.handed_over)

    @property
    def short(self) -> float:
        """What was meant to be taken and was not there."""
        return sum(part.asked - part.value for part in self.parts)

    @property
    def gap(self) -> float:
        """What the books cannot explain; 0 where they balance."""
        return self.start + self.corrected - self.taken - self.lost - self.left


@dataclass(frozen=True, slots=True)
class Yielded:
    """What a batch gave against what its amounts give by the recipe."""

    expected: float
    """By the recipe at the amounts taken, before anything is lost."""
    in_machines: float
    """What the recipe says stays in machines."""
    made: float
    unit: Unit

    @property
    def difference(self) -> float:
        """What was lost besides, by what was measured; below 0: more than the recipe says."""
        return self.expected - self.in_machines - self.made


@dataclass(frozen=True, slots=True)
class Books:
    """All accounts, by lot code or code of the delivery."""

    accounts: Mapping[str, Account]
    into: Mapping[str, tuple[Part, ...]]
    """By who took it: lot code or order id."""
    aside: Mapping[str, float] = field(default_factory=dict)
    """Of by-products: which part of all that went into their batch each of them is, by weight."""

    def forward(self, lot: str) -> tuple[str, ...]:
        """Every lot and order that food of this one is in, directly or through others, nearest first."""
        return _walk(lot, lambda one: [p.into for p in self._parts(one)])

    def back(self, lot: str) -> tuple[str, ...]:
        """Every lot that is in this one, or in this order, directly or through others, nearest first."""
        return _walk(lot, lambda one: [p.lot for p in self.into.get(one, ()) if p.value > LEAST])

    def _parts(self, lot: str) -> list[Part]:
        account = self.accounts.get(lot)
        parts = (*account.parts, *account.leaves) if account is not None else ()
        return [part for part in parts if part.value > LEAST]

    def shares(self, lot: str) -> dict[str, float]:
        """Which part of a lot is in what, from 0 to 1, by lot code; orders stand as ``LOT/ORDER``.

        Food that went on through several lots is shared out as each of them was: mixed evenly. What a batch left over
        has its part by weight, as far as weights tell; see `left_over`.
        """
        found: dict[str, float] = defaultdict(float)
        self._share(lot, 1.0, found, frozenset())
        return dict(found)

    def _share(self, lot: str, part: float, found: dict[str, float], above: frozenset[str]) -> None:
        account = self.accounts.get(lot)
        whole = account.start + account.corrected if account is not None else 0.0
        if account is None or lot in above:
            return
        if whole <= LEAST:
            found[lot] += part
            return
        left = part
        aside = sum(self.aside.get(one.into, 0.0) for one in account.leaves)
        for one in self._parts(lot):
            of_it = self.aside.get(one.into, 0.0) if one.left_over else (1.0 - aside) * one.value / whole
            share = min(left, part * of_it)
            left -= share
            if one.to_order:
                found[f"{lot}/{one.into}"] += share
            else:
                self._share(one.into, share, found, above | {lot})
        found[lot] += max(0.0, left)


def _walk(start: str, near: Callable[[str], list[str]]) -> tuple[str, ...]:
    found: list[str] = []
    ahead = [start]
    while ahead:
        for one in near(ahead.pop(0)):
            if one not in found and one != start:
                found.append(one)
                ahead.append(one)
    return tuple(found)


def books(state: State) -> Books:
    """The books as they stand; empty before there is a kitchen. Worked out once for each state."""
    return _remembered(Same(state))


def accounts_here(state: State) -> Mapping[LotCode, Account]:
    """The accounts of what the plan and the kitchen name: all that planning asks for, however long the record is."""
    return _remembered_here(Same(state))


@lru_cache(maxsize=4)
def _remembered(same: Same[State]) -> Books:
    return _books(same.thing)


@lru_cache(maxsize=4)
def _remembered_here(same: Same[State]) -> Mapping[LotCode, Account]:
    state = same.thing
    if state.kitchen is None:
        return {}
    batches = state.plan.batches if state.plan is not None else ()
    asked = _asked(state, {*(stock.lot for stock in state.kitchen.stock), *(batch.lot for batch in batches)})
    return {LotCode(lot): account for lot, account in _of_lots(state, batches, asked).items()}


def _books(now: State) -> Books:
    state = whole(now)
    kitchen, plan = state.kitchen, state.plan
    if kitchen is None:
        return Books({}, {})
    planned = {batch.lot: batch for batch in (plan.batches if plan is not None else ())}
    accounts = _of_lots(state, {**state.begun, **planned}.values(), _asked(state))
    for supply in state.pantry.lots:
        accounts[supply] = _supplied(state, supply)
    for source, lots in by_source(state).items():
        if source in accounts:
            accounts[source] = replace(accounts[source], leaves=tuple(_left_over(state, lot) for lot in lots))
    into: dict[str, list[Part]] = defaultdict(list)
    for part in (part for account in accounts.values() for part in (*account.parts, *account.leaves)):
        into[part.into].append(part)
    return Books(accounts, {who: tuple(parts) for who, parts in into.items()}, aside(state))


def _of_lots(state: State, batches: Iterable[Batch], asked: Mapping[str, list[Part]]) -> dict[str, Account]:
    """Of stock on hand and of batches."""
    kitchen, accounts = state.kitchen, dict[str, Account]()
    assert kitchen is not None
    for stock in kitchen.stock:
        on_hand: tuple[float, How] = (stock.quantity.value, "on hand")
        accounts[stock.lot] = _account(state, stock.lot, on_hand, stock.quantity.unit, asked)
    for batch in batches:
        recipe = kitchen.made_by(batch.recipe, batch.revision)
        accounts[batch.lot] = _account(state, batch.lot, _made(state, batch, recipe), batch.size.unit, asked)
    return accounts


def _asked(state: State, of: Container[LotCode] | None = None) -> dict[str, list[Part]]:
    """What was meant to be taken of each lot, or of each of these, by everything that has begun."""
    found: dict[str, list[Part]] = defaultdict(list)
    for task, taking in state.takings.items():
        if of is not None and not any(lot in of for lot in taking.lots):
            continue
        record, to_order = state.record(task), taking.to_order
        at = taking.at or record.started_at or record.finished_at
        given = to_order and _handed_over(state, task)
        for lot, amount in zip(taking.lots, taking.amounts, strict=False):
            part = Part(lot, taking.into, task, at, amount.value, amount.value, amount.unit, to_order, given)
            found[lot].append(part)
    return found


def _handed_over(state: State, task: TaskId) -> bool:
    """Whether the line of an order that a task belongs to was handed over."""
    line = task.rsplit(".", 1)[0]
    order_tasks = plan_index(state.plan).order_tasks if state.plan is not None else {}
    mine = order_tasks.get(OrderId(line.split(".")[0]), ())
    tasks = plan_index(state.plan).tasks if state.plan is not None else {}
    ends = [t for t in mine if t.startswith(f"{line}.") and tasks[t].process is Process.HAND_OVER]
    return any(state.record(t).status is TaskStatus.DONE for t in ends)


def _account(
    state: State, lot: LotCode, start: tuple[float, How], unit: Unit, asked: Mapping[str, list[Part]]
) -> Account:
    """What was there at each instant limits what could be taken then."""
    left, how = start
    parts: list[Part] = []
    corrected = 0.0
    counts = [(count.at, 1, count.counted.value - count.books.value) for count in state.counts.get(lot, ())]
    takes = [(part.at or _LONG_AGO, 0, part) for part in asked.get(lot, ())]
    entries: list[tuple[datetime, int, float | Part]] = [*counts, *takes]
    for _, _, what in sorted(entries, key=lambda entry: entry[:2]):
        if isinstance(what, float):
            corrected += what
            left += what
        else:
            value = min(what.asked, max(0.0, left)) if what.unit is unit else 0.0
            parts.append(_with(what, value))
            left -= value
    record = state.lots.get(lot)
    gone = left if record is not None and record.status is LotStatus.DISCARDED else 0.0
    return Account(lot, unit, start[0], how, tuple(parts), corrected, lost=gone, left=left - gone)


def _with(part: Part, value: float) -> Part:
    return Part(part.lot, part.into, part.task, part.at, value, part.asked, part.unit, part.to_order, part.handed_over)


def _supplied(state: State, lot: SupplyLotId) -> Account:
    received = state.pantry.lots[lot]
    unit, left = received.quantity.unit, state.pantry.left(lot)
    parts = []
    for task, uses in state.pantry.uses.items():
        taking, into = state.takings.get(task), task.split(".")[0]
        at = (taking.at if taking is not None else None) or state.record(task).started_at
        for use in uses:
            if use.lot == lot and use.quantity.unit is unit:
                to_order = LotCode(into) not in state.begun
                over = to_order and _handed_over(state, task)
                value = use.quantity.value
                parts.append(Part(lot, into, task, at, value, value, unit, to_order, over))
    corrected = state.pantry.counted.get(lot, 0.0)
    decided = state.lots.get(LotCode(lot))
    gone = max(0.0, left) if decided is not None and decided.status is LotStatus.DISCARDED else 0.0
    how: How = "received" if received.made_from is None else "left over"
    return Account(lot, unit, received.quantity.value, how, tuple(parts), corrected, gone, left - gone)


def _left_over(state: State, lot: IngredientLot) -> Part:
    """A by-product as it left its batch, and whatever counts have found of it since stays with its own account."""
    assert lot.made_from is not None
    assert lot.task is not None
    value = lot.quantity.value
    return Part(
        lot.made_from, lot.id, lot.task, lot.received_at, value, value, lot.quantity.unit, False, left_over=True
    )


def _made(state: State, batch: Batch, recipe: Recipe | None) -> tuple[float, How]:
    """How much a batch has given: as it was measured or counted at the end of its work, else as planned."""
    planned = batch.size.value
    work = [s for s in (recipe.steps if recipe is not None else ()) if s.per == "batch" and s.stay is None]
    records = [state.record(TaskId(f"{batch.lot}.{step.id}")) for step in work]
    if not any(record.status is not TaskStatus.WAITING for record in records):
        return planned, "not begun"
    if any(record.status not in _OVER for record in records):
        return planned, "in work"
    last, step = records[-1], work[-1]
    if step.measure is not None and MEASURES.get(step.measure) is batch.size.unit and step.measure in last.measured:
        return last.measured[step.measure], "measured"
    if step.cycle is not None and last.pieces and batch.size.unit is Unit.EACH:
        return float(last.pieces), "counted pieces"
    return planned, "planned"


def batch_of(state: State, lot: str) -> Batch | None:
    """A batch of the plan, or one that has begun and that no plan names any more."""
    planned = plan_index(state.plan).batches.get(LotCode(lot)) if state.plan is not None else None
    return planned or state.begun.get(LotCode(lot))


def yielded(state: State, lot: LotCode) -> Yielded | None:
    """What a finished batch gave against its recipe; none for anything else."""
    batch = batch_of(state, lot)
    recipe = state.kitchen.made_by(batch.recipe, batch.revision) if state.kitchen is not None and batch else None
    if batch is None or recipe is None:
        return None
    made, how = _made(state, batch, recipe)
    if how in ("not begun", "in work"):
        return None
    machines = sum(step.loss.value for step in recipe.steps if step.loss is not None and step.per == "batch")
    return Yielded(recipe.yields.value * batch.scale, machines, made, batch.size.unit)
