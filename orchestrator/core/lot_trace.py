"""Forward through the food: what was made from a lot, and which orders have taken from it."""

from collections.abc import Iterator, Mapping
from datetime import datetime

from orchestrator.core.ids import LotCode, OrderId, RecipeId, TaskId
from orchestrator.core.models import Batch, Kitchen, Plan, PlannedTask, Process, Recipe, Step, StockLot, TaskKind
from orchestrator.core.plan_index import KitchenIndex, kitchen_index, plan_index
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.state import State, Taking, TaskStatus
from orchestrator.core.whole import whole


def taken_by(
    kitchen: Kitchen, plan: Plan, task: PlannedTask, before: Mapping[TaskId, Taking] | None = None
) -> Taking | None:
    """Which lots a task takes from as it begins, and how much; none when it takes from none.

    A step of a batch takes the components that the recipe names there, from the lots pegged to the batch. The first
    step of an order line takes the product, and each step of it its own components, from the lots pegged to the order.

    Args:
        kitchen: With the recipes.
        plan: Whose pegs say which lot is meant for whom.
        task: Of that plan.
        before: What was taken by now: the last step that takes a component gets what is left of what was meant.
    """
    known, threads = kitchen_index(kitchen), plan_index(plan)
    step = known.step(task)
    # A product without steps for each order is handed over by a task without a step.
    if task.kind is not TaskKind.WORK or (step is None and task.order is None):
        return None
    wanted = {take.component for take in (step.takes if step is not None else ()) if take.component is not None}
    if task.lot is None and task.recipe is not None:
        wanted.add(task.recipe)
    into = str(task.lot if task.lot is not None else task.order)
    amounts: dict[LotCode, float] = {}
    units: dict[LotCode, Unit] = {}
    for peg in plan.pegs:
        mine = peg.batch == task.lot if task.lot is not None else peg.order == task.order
        source = threads.batches.get(peg.lot) or known.stock.get(peg.lot)
        if mine and source is not None and source.recipe in wanted:
            part = peg.quantity.value * _part(known.recipes[source.recipe], known, task, step)
            amounts[peg.lot], units[peg.lot] = amounts.get(peg.lot, 0.0) + part, peg.quantity.unit
    if not amounts:
        return None
    given = []
    for lot, part in amounts.items():
        meant = sum(p.quantity.value for p in plan.pegs if p.lot == lot and p.consumer == into)
        left = max(0.0, meant - taken_before(before or {}, task.id, into, lot))
        takes = left if _is_last(source_of(kitchen, plan, lot), known, task, step) else min(left, part)
        given.append(Quantity(value=takes, unit=units[lot]))
    return Taking(into=into, lots=tuple(amounts), amounts=tuple(given), to_order=task.lot is None)


def taken_before(before: Mapping[TaskId, Taking], task: TaskId, into: str, lot: LotCode) -> float:
    """How much other tasks of the same consumer have taken of a lot."""
    found = 0.0
    for other, taking in before.items():
        if other != task and taking.into == into:
            found += sum(q.value for one, q in zip(taking.lots, taking.amounts, strict=False) if one == lot)
    return found


def source_of(kitchen: Kitchen, plan: Plan, lot: LotCode) -> RecipeId | None:
    """What a lot is, by its recipe."""
    known: Batch | StockLot | None = plan_index(plan).batches.get(lot) or kitchen_index(kitchen).stock.get(lot)
    return known.recipe if known is not None else None


def _takers(component: RecipeId, known: KitchenIndex, task: PlannedTask) -> list[tuple[Step, float]]:
    """The steps of a batch, or of an order line, that take a component, with how much at the recipe's yield."""
    recipe = known.made_by(task)
    per = "batch" if task.lot is not None else "order"
    found = []
    for step in (s for s in (recipe.steps if recipe is not None else ()) if s.per == per):
        amount = sum(take.amount.value for take in step.takes if take.component == component)
        if amount > 0:
            found.append((step, amount))
    return found


def _part(source: Recipe, known: KitchenIndex, task: PlannedTask, step: Step | None) -> float:
    """Which part of what is meant for a consumer one step takes; a product is taken whole as its line begins."""
    if step is None or (task.lot is None and source.id == task.recipe):
        return 1.0
    takers = _takers(source.id, known, task)
    whole = sum(amount for _, amount in takers)
    return sum(amount for taker, amount in takers if taker.id == step.id) / whole if whole > 0 else 1.0


def _is_last(source: RecipeId | None, known: KitchenIndex, task: PlannedTask, step: Step | None) -> bool:
    takers = _takers(source, known, task) if source is not None and source != task.recipe else []
    return step is None or not takers or takers[-1][0].id == step.id


def made_from(state: State, lot: LotCode, since: datetime | None = None) -> tuple[LotCode, ...]:
    """All lots that food of this one has gone into, directly or through others, nearest first.

    Args:
        state: With what was taken.
        lot: The one it began with.
        since: What was taken of it before that is left out.
    """
    state = whole(state)
    orders = _order_ids(state)
    found: list[LotCode] = []
    ahead = [lot]
    while ahead:
        source = ahead.pop(0)
        for task, taking in state.takings.items():
            into = LotCode(taking.into)
            at = state.record(task).started_at if source == lot and since is not None else None
            early = at is not None and since is not None and at < since
            if source in taking.lots and into not in found and into != lot and into not in orders and not early:
                found.append(into)
                ahead.append(into)
        for into in _by_way_of_pantry(state, source):
            if into not in found and into != lot and into not in orders:
                found.append(into)
                ahead.append(into)
    return tuple(found)


def _by_way_of_pantry(state: State, source: LotCode) -> Iterator[LotCode]:
    """By-products that a batch has left, and the batches that took from one, or from a delivery since its place failed:
    what was taken out of a sack before that is not in doubt."""
    for lot in state.pantry.lots.values():
        if lot.made_from == source:
            yield LotCode(lot.id)
        elif str(lot.id) == source:
            since = _failed_since(state, source) if lot.made_from is None else None
            for task, uses in state.pantry.uses.items():
                at = state.record(task).started_at
                if any(use.lot == lot.id for use in uses) and (since is None or at is None or at >= since):
                    yield LotCode(task.split(".")[0])


def _failed_since(state: State, lot: LotCode) -> datetime | None:
    """Since when the place is in doubt in which a lot stands or stood; none where no place of it failed."""
    failed = (d for d in state.deviations.values() if d.open and d.facts.asked and lot in d.lots)
    return min((d.asked_since for d in failed), default=None)


def _order_ids(state: State) -> set[str]:
    return {str(order.id) for order in state.kitchen.orders} if state.kitchen is not None else set()


def served(state: State, lots: tuple[LotCode, ...]) -> tuple[OrderId, ...]:
    """Orders that were handed over with food of these lots in them: somebody may have to call the customer."""
    state = whole(state)
    return tuple(sorted({o for o in _orders_of(state, lots) if _handed_over(state, o)}))


def _orders_of(state: State, lots: tuple[LotCode, ...]) -> Iterator[OrderId]:
    orders = _order_ids(state)
    for taking in state.takings.values():
        if taking.into in orders and set(taking.lots) & set(lots):
            yield OrderId(taking.into)
    for task, uses in state.pantry.uses.items():
        into = task.split(".")[0]
        if into in orders and any(LotCode(use.lot) in lots for use in uses):
            yield OrderId(into)


def _handed_over(state: State, order: OrderId) -> bool:
    tasks = state.plan.tasks if state.plan is not None else ()
    last = [t for t in tasks if t.order == order and t.process is Process.HAND_OVER]
    return any(state.record(task.id).status is TaskStatus.DONE for task in last)


def _line_of(state: State, task: PlannedTask) -> list[PlannedTask]:
    """All tasks of the order line that a task is of; none for a batch's."""
    if state.plan is None or task.order is None or task.lot is not None:
        return []
    return [t for t in state.plan.tasks if t.order == task.order and t.recipe == task.recipe and t.lot is None]


def thawed_for(state: State, task: PlannedTask) -> dict[LotCode, datetime]:
    """Since when what an order line has taken is out of where its lot was kept, the first of each lot."""
    found: dict[LotCode, datetime] = {}
    for earlier in _line_of(state, task):
        took, since = state.takings.get(earlier.id), state.record(earlier.id).started_at
        if took is not None and since is not None:
            found |= {lot: min(found.get(lot, since), since) for lot in took.lots}
    return found


def lots_into(state: State, task: PlannedTask) -> tuple[LotCode, ...]:
    """Lots whose food a task handles: its own, those pegged to it, and for an order line all that went into it."""
    found: list[LotCode] = [task.lot] if task.lot is not None else []
    if state.kitchen is None or state.plan is None:
        return tuple(found)
    taking = taken_by(state.kitchen, state.plan, task)
    found += taking.lots if taking is not None else ()
    for earlier in _line_of(state, task):
        took = state.takings.get(earlier.id)
        found += took.lots if took is not None else ()
    return tuple(dict.fromkeys(found))
