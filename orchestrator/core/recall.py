"""What a recall of a lot would have to find, by the books: food in its places, and what customers were given."""

from orchestrator.core.ids import EquipmentId, LotCode, OrderId, SupplyLotId
from orchestrator.core.material import Account, batch_of, books
from orchestrator.core.models.stock import DrillItem
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.quantities import Quantity
from orchestrator.core.state import State, TaskStatus
from orchestrator.core.whole import whole


def lot_name(state: State, lot: str) -> str:
    """What a lot is, in words."""
    state = whole(state)
    if state.kitchen is None:
        return ""
    known = kitchen_index(state.kitchen)
    received = state.pantry.lots.get(SupplyLotId(lot))
    if received is not None:
        return received.ingredient
    batch = batch_of(state, lot)
    made = batch or known.stock.get(LotCode(lot))
    return known.recipes[made.recipe].name if made is not None and made.recipe in known.recipes else ""


def place_of(state: State, lot: str) -> str:
    """Where a lot is: the places of its tasks in hand, of an ingredient where it was put away; empty if not known."""
    if state.kitchen is None:
        return ""
    machines = kitchen_index(state.kitchen).equipment

    def name(place: EquipmentId | None) -> tuple[str, ...]:
        return (machines[place].name,) if place is not None and place in machines else ()

    received = state.pantry.lots.get(SupplyLotId(lot))
    if received is not None:
        return ", ".join(name(received.place))
    threads = plan_index(state.plan) if state.plan is not None else None
    names: list[str] = []
    for task in threads.lot_tasks.get(LotCode(lot), ()) if threads is not None else ():
        record = state.record(task)
        place = record.equipment or (threads.tasks[task].equipment if threads is not None else None)
        if record.status is TaskStatus.IN_HAND:
            names += name(place)
    stock = kitchen_index(state.kitchen).stock.get(LotCode(lot))
    if not names and stock is not None:
        names += name(stock.place)
    return ", ".join(dict.fromkeys(names))


def items_of(state: State, lot: str) -> tuple[DrillItem, ...] | None:
    """Everything with food of the lot in it that is somewhere: what is left of each lot, and what orders took.

    Returns:
        None if there is no such lot. What is thrown away is not to be found; see `gone_of`.
    """
    state = whole(state)
    book = books(state)
    if lot not in book.accounts:
        return None
    shares = book.shares(lot)
    found = []
    for one in (lot, *(o for o in book.forward(lot) if o in book.accounts)):
        account = book.accounts[one]
        if account.left > 0.0005:
            found.append(_here(state, account, shares.get(one, 0.0) * _left_part(account)))
        found += _given(state, account, shares)
    return tuple(found)


def gone_of(state: State, lot: str) -> float:
    """Which part of a lot is thrown away, alone or in what was made of it."""
    book = books(state)
    shares = book.shares(lot)
    lots = (lot, *(one for one in book.forward(lot) if one in book.accounts))
    return sum(shares.get(one, 0.0) * (1.0 - _left_part(book.accounts[one])) for one in lots)


def _left_part(account: Account) -> float:
    """Of what stayed in a lot: how much of it is still there."""
    stayed = account.left + account.lost
    return max(0.0, account.left) / stayed if stayed > 0 else 0.0


def _here(state: State, account: Account, share: float) -> DrillItem:
    return DrillItem(
        id=account.lot,
        lot=LotCode(account.lot),
        name=lot_name(state, account.lot),
        quantity=Quantity(value=account.left, unit=account.unit),
        share=share,
        where=place_of(state, account.lot),
    )


def _given(state: State, account: Account, shares: dict[str, float]) -> list[DrillItem]:
    orders = kitchen_index(state.kitchen).orders if state.kitchen is not None else {}
    found: dict[str, DrillItem] = {}
    for part in account.parts:
        if not part.to_order or part.value <= 0:
            continue
        order = orders.get(OrderId(part.into))
        before = found[part.into].quantity if part.into in found else None
        total = part.value + (before.value if before is not None else 0.0)
        found[part.into] = DrillItem(
            id=f"{account.lot}/{part.into}",
            lot=LotCode(account.lot),
            name=lot_name(state, account.lot),
            quantity=Quantity(value=total, unit=account.unit),
            share=shares.get(f"{account.lot}/{part.into}", 0.0),
            order=OrderId(part.into),
            customer=order.customer if order is not None else "",
        )
    return list(found.values())
