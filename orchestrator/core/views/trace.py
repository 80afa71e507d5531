"""A lot traced: what went into it and where it went, through any number of steps; what is left, and where."""

from dataclasses import dataclass
from datetime import datetime

from orchestrator.core.ids import LotCode, OrderId, SupplyLotId
from orchestrator.core.material import Account, Books, Part, Yielded, batch_of, books, yielded
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.pantry import LEAST
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.quantities import Quantity
from orchestrator.core.recall import lot_name, place_of
from orchestrator.core.state import LotStatus, State, TaskStatus
from orchestrator.core.stock_events import StockCounted
from orchestrator.core.wanted import wanted
from orchestrator.core.whole import whole


@dataclass(frozen=True, slots=True)
class StepView:
    """So much of one thing went into another."""

    depth: int
    """1: one step from the lot that is traced."""
    lot: str
    """From which lot; empty where no lot of an ingredient is on record."""
    name: str
    into: str
    into_name: str
    amount: Quantity
    at: datetime | None
    to_order: bool = False
    handed_over: bool = False
    customer: str = ""
    supplier: str = ""
    """Of an ingredient: who it came from, and their code."""


@dataclass(frozen=True, slots=True)
class StandingView:
    """A lot that has something to do with the one that is traced, and what is left of it where."""

    lot: str
    name: str
    left: Quantity
    where: str
    status: str


@dataclass(frozen=True, slots=True)
class TraceView:
    """All of it."""

    lot: str
    name: str
    account: Account
    where: str
    status: str
    received: IngredientLot | None
    """Of an ingredient: as it came."""
    yielded: Yielded | None
    back: tuple[StepView, ...]
    forward: tuple[StepView, ...]
    standing: tuple[StandingView, ...]
    """It itself, and every lot that it is in."""
    counts: tuple[StockCounted, ...]


def trace_view(state: State, lot: str) -> TraceView:
    """One lot: a batch, stock on hand, or an ingredient as it was received.

    Raises:
        KeyError: there is no such lot.
    """
    state = whole(state)
    book = books(state)
    account = book.accounts[lot]
    return TraceView(
        lot=lot,
        name=lot_name(state, lot),
        account=account,
        where=place_of(state, lot),
        status=status_of(state, account),
        received=state.pantry.lots.get(SupplyLotId(lot)),
        yielded=yielded(state, LotCode(lot)),
        back=_back(state, book, lot),
        forward=_forward(state, book, lot),
        standing=tuple(
            StandingView(
                one,
                lot_name(state, one),
                Quantity(value=max(0.0, book.accounts[one].left), unit=book.accounts[one].unit),
                place_of(state, one),
                status_of(state, book.accounts[one]),
            )
            for one in (lot, *book.forward(lot))
            if one in book.accounts
        ),
        counts=state.counts.get(LotCode(lot), ()),
    )


def status_of(state: State, account: Account) -> str:
    """What was decided, else ``planned``, ``in work``, ``free`` or ``used``; the words of `lot_views`."""
    record = state.lots.get(LotCode(account.lot))
    if record is not None and record.status is not LotStatus.FREE:
        return record.status.value
    if account.how == "not begun":
        return "planned"
    if account.how == "in work":
        return "in work"
    return "free" if account.left > LEAST else "used"


def _forward(state: State, book: Books, lot: str) -> tuple[StepView, ...]:
    found: list[StepView] = []
    seen = {lot}
    level = [lot]
    depth = 1
    while level:
        parts = [part for one in level for part in _taken(book, one)]
        found += [_step(state, part, depth) for part in parts]
        level = list(dict.fromkeys(p.into for p in parts if not p.to_order and p.into not in seen))
        seen |= set(level)
        depth += 1
    return tuple(found)


def _taken(book: Books, lot: str) -> list[Part]:
    return [part for part in book.accounts[lot].parts if part.value > LEAST] if lot in book.accounts else []


def _back(state: State, book: Books, lot: str) -> tuple[StepView, ...]:
    found: list[StepView] = []
    seen = {lot}
    level = [lot]
    depth = 1
    while level:
        steps = [step for one in level for step in _one_back(state, book, one, depth)]
        found += [step for step in steps if step.lot] + [step for step in steps if not step.lot]
        level = list(dict.fromkeys(step.lot for step in steps if step.lot and step.lot not in seen))
        seen |= set(level)
        depth += 1
    return tuple(found)


def went_in(state: State, lot: str) -> tuple[StepView, ...]:
    """What a lot has taken, one step back: food and ingredients, each with its lot where one is on record."""
    return tuple(_one_back(whole(state), books(state), lot, 1))


def _one_back(state: State, book: Books, lot: str, depth: int) -> list[StepView]:
    parts = (part for part in book.into.get(lot, ()) if part.value > LEAST)
    return [*(_step(state, part, depth) for part in parts), *_unnamed(state, book, lot, depth)]


def _unnamed(state: State, book: Books, lot: str, depth: int) -> list[StepView]:
    """Ingredients that a batch took of which no lot is on record, or not all."""
    plan, batch = state.plan, batch_of(state, lot)
    if plan is None or batch is None or state.kitchen is None:
        return []
    threads = plan_index(plan)
    found = []
    for task_id in threads.lot_tasks.get(LotCode(lot), ()):
        record, task = state.record(task_id), threads.tasks[task_id]
        if record.started_at is None or record.status is TaskStatus.WAITING:
            continue
        uses = state.pantry.uses.get(task_id, ())
        for (ingredient, unit), amount in wanted(state.kitchen, threads, task).items():
            known = sum(u.quantity.value for u in uses if u.ingredient == ingredient and u.quantity.unit is unit)
            if amount - known > LEAST:
                quantity = Quantity(value=amount - known, unit=unit)
                found.append(StepView(depth, "", ingredient, lot, lot_name(state, lot), quantity, record.started_at))
    return found


def _step(state: State, part: Part, depth: int) -> StepView:
    orders = kitchen_index(state.kitchen).orders if state.kitchen is not None else {}
    order = orders.get(OrderId(part.into)) if part.to_order else None
    received = state.pantry.lots.get(SupplyLotId(part.lot))
    supplier = " · ".join(text for text in (received.supplier, received.supplier_lot) if text) if received else ""
    return StepView(
        depth=depth,
        lot=part.lot,
        name=lot_name(state, part.lot),
        into=part.into,
        into_name="" if part.to_order else lot_name(state, part.into),
        amount=Quantity(value=part.value, unit=part.unit),
        at=part.at,
        to_order=part.to_order,
        handed_over=part.handed_over,
        customer=order.customer if order is not None else "",
        supplier=supplier,
    )


def find_lots(state: State, text: str) -> tuple[str, ...]:
    """Lots by their code, or by the supplier's code or name; what somebody reads off a label."""
    wanted_text = text.strip().lower()
    if not wanted_text:
        return ()
    book = books(state)
    exact = [lot for lot in book.accounts if lot.lower() == wanted_text]
    supplied = [
        lot.id
        for lot in state.pantry.lots.values()
        if wanted_text in {lot.supplier_lot.lower(), lot.supplier.lower(), lot.ingredient.lower()}
    ]
    named = [lot for lot in book.accounts if wanted_text in lot_name(state, lot).lower()]
    return tuple(dict.fromkeys((*exact, *supplied, *named)))
