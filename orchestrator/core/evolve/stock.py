"""What deliveries, counts and drills change; a delivery that did not come as thought changes what work can begin."""

from dataclasses import replace
from typing import assert_never

from orchestrator.core.allergens import inherited
from orchestrator.core.by_product_events import ByProductLeft, ByProductWeighed
from orchestrator.core.changes_supplies import relabelled, swap, with_supply, without_supply
from orchestrator.core.ids import LotCode, SupplyLotId, TaskId
from orchestrator.core.models import Batch, Kitchen, Supply
from orchestrator.core.models.change import SwapIngredient
from orchestrator.core.models.stock import Drill
from orchestrator.core.state import State, Taking
from orchestrator.core.stock_events import (
    DeliveryReceived,
    DrillEnded,
    DrillMarked,
    DrillStarted,
    IngredientMeasured,
    IngredientSwapped,
    IngredientUsed,
    LotReworked,
    RipenessJudged,
    StockCounted,
    StockEvent,
)
from orchestrator.core.supply_events import DeliveryOverdue


def apply(state: State, event: StockEvent) -> State:  # noqa: PLR0911 - a table of events
    """The pantry, the counts, the drills and what the kitchen waits for."""
    match event:
        case DeliveryReceived():
            kitchen = _after_delivery(state.kitchen, event)
            return replace(state, kitchen=kitchen, pantry=state.pantry.with_delivery(event))
        case IngredientUsed():
            return replace(state, pantry=state.pantry.with_uses(event))
        case RipenessJudged():
            return replace(state, kitchen=_after_look(state.kitchen, event))
        case IngredientSwapped():
            return _swapped(state, event)
        case StockCounted():
            return _counted(state, event)
        case LotReworked():
            return _reworked(state, event)
        case DrillStarted() | DrillMarked() | DrillEnded():
            return _drilled(state, event)
        case DeliveryOverdue():
            overdue = {**state.pantry.overdue, event.ingredient: event.expected_at}
            return replace(state, pantry=replace(state.pantry, overdue=overdue))
        case ByProductLeft():
            return replace(state, pantry=state.pantry.with_by_product(event))
        case ByProductWeighed():
            return replace(state, pantry=state.pantry.with_weight(event))
        case IngredientMeasured():
            return replace(state, pantry=state.pantry.with_reading(event))
        case _:
            assert_never(event)


def _after_delivery(kitchen: Kitchen | None, event: DeliveryReceived) -> Kitchen | None:
    if kitchen is None:
        return None
    if event.outcome == "accepted":
        return without_supply(kitchen, event.ingredient)
    # Without a word of when the rest comes, nothing may count on it within the days that are planned.
    ready = event.rest_at if event.rest_at is not None else kitchen.planned_until
    some = event.usable is not None and event.usable.value > 0
    supply = Supply(
        ingredient=event.ingredient,
        ready=ready,
        why="delivery",
        on_hand=event.usable if some else None,
        counted_at=event.at if some else None,
    )
    return with_supply(kitchen, supply)


def _after_look(kitchen: Kitchen | None, event: RipenessJudged) -> Kitchen | None:
    if kitchen is None:
        return None
    if event.ripe_at is None:
        return without_supply(kitchen, event.ingredient)
    return with_supply(kitchen, Supply(ingredient=event.ingredient, ready=event.ripe_at, why="ripe"))


def _swapped(state: State, event: IngredientSwapped) -> State:
    if state.kitchen is None:
        return state
    told = SwapIngredient(ingredient=event.ingredient, by=event.by, allergens=event.allergens)
    kitchen = swap(state.kitchen, told)
    begun = {task: r.started_at for task, r in state.tasks.items() if r.started_at is not None}
    plan = None if state.plan is None else relabelled(state.plan, state.kitchen, kitchen, begun)
    pantry = replace(state.pantry, swaps=(*state.pantry.swaps, event))
    return replace(state, kitchen=kitchen, plan=plan, pantry=pantry)


def _reworked(state: State, event: LotReworked) -> State:
    """The batch has the lot's allergens and no later date than it; so has all that is made from the batch."""
    before = sum(task.startswith(f"{event.into}.rework-") for task in state.takings)
    taking = Taking(into=event.into, lots=(event.lot,), amounts=(event.quantity,), at=event.at)
    task = TaskId(f"{event.into}.rework-{before + 1}")
    begun = state.begun.get(event.into)
    pantry = state.pantry.with_rework(event, task)
    changed = replace(state, takings={**state.takings, task: taking}, pantry=pantry)
    if begun is not None:
        changed = replace(changed, begun={**state.begun, event.into: _with_rework(begun, event)})
    if state.plan is None or state.kitchen is None:
        return changed
    batches = tuple(_with_rework(b, event) if b.lot == event.into else b for b in state.plan.batches)
    known = inherited(batches, state.plan.pegs, {stock.lot: stock for stock in state.kitchen.stock})
    batches = tuple(b.model_copy(update={"allergens": tuple(sorted(known[b.lot]))}) for b in batches)
    return replace(changed, plan=state.plan.model_copy(update={"batches": batches}))


def _with_rework(batch: Batch, event: LotReworked) -> Batch:
    dates = [until for until in (batch.oldest, event.use_by) if until is not None]
    allergens = tuple(sorted({*batch.allergens, *event.allergens}))
    return batch.model_copy(update={"allergens": allergens, "oldest": min(dates, default=None)})


def _counted(state: State, event: StockCounted) -> State:
    if SupplyLotId(event.lot) in state.pantry.lots:
        return replace(state, pantry=state.pantry.with_count(event))
    lot = LotCode(event.lot)
    return replace(state, counts={**state.counts, lot: (*state.counts.get(lot, ()), event)})


def _drilled(state: State, event: DrillStarted | DrillMarked | DrillEnded) -> State:
    if isinstance(event, DrillStarted):
        drill = Drill(
            id=event.drill,
            lot=event.lot,
            name=event.name,
            started_at=event.at,
            person=event.person,
            items=event.items,
            gone=event.gone,
        )
        return replace(state, drills={**state.drills, event.drill: drill})
    known = state.drills.get(event.drill)
    if known is None:
        return state
    if isinstance(event, DrillMarked):
        after = known.model_copy(update={"finds": (*known.finds, event.find)})
    else:
        after = known.model_copy(update={"ended_at": event.at, "ended_by": event.person, "note": event.note})
    return replace(state, drills={**state.drills, event.drill: after})
