"""What deviations change: entries are added, never taken out; a lot that was moved is elsewhere."""

from collections.abc import Mapping
from dataclasses import replace
from typing import assert_never

from orchestrator.core.ids import DeviationId, EquipmentId, LotCode, SupplyLotId, TaskId
from orchestrator.core.lot_events import (
    ActionTaken,
    DeviationClosed,
    DeviationEvent,
    DeviationOpened,
    DeviationSpread,
    LotAnswered,
    LotDecided,
    PlaceRecovered,
)
from orchestrator.core.models.deviation import Deviation, Disposition
from orchestrator.core.state import State, TaskRecord, TaskStatus


def apply(state: State, event: DeviationEvent) -> State:
    """A deviation is opened, spreads, is acted upon, or is closed."""
    if isinstance(event, DeviationOpened):
        facts = event.facts
        opened = Deviation(
            id=event.deviation,
            opened_at=event.at,
            facts=facts,
            lots=facts.lots,
            asked_since=facts.since or event.at,
        )
        return _with(state, opened)
    if isinstance(event, LotAnswered):
        return _answered(state, event)
    known = state.deviations.get(event.deviation)
    return state if known is None else _with(state, _changed(known, event))


def _changed(known: Deviation, event: DeviationSpread | PlaceRecovered | ActionTaken | DeviationClosed) -> Deviation:
    match event:
        case DeviationSpread():
            new = tuple(lot for lot in event.lots if lot not in known.lots)
            again = {"asked_since": event.at, "until": None} if event.again else {}
            return known.model_copy(update={"lots": (*known.lots, *new), **again})
        case PlaceRecovered():
            warmest = _warmer(known.warmest_c, event.warmest_c)
            core = _warmer(known.core_at_most_c, event.core_at_most_c)
            return known.model_copy(update={"until": event.at, "warmest_c": warmest, "core_at_most_c": core})
        case ActionTaken():
            return known.model_copy(update={"actions": (*known.actions, event.action)})
        case DeviationClosed():
            ended = {"closed_at": event.at, "closed_by": event.person, "note": event.note}
            return known.model_copy(update={**ended, "withdrawn": event.withdrawn})
        case _:
            assert_never(event)


def _warmer(one: float | None, other: float | None) -> float | None:
    return max((c for c in (one, other) if c is not None), default=None)


def _with(state: State, deviation: Deviation) -> State:
    return replace(state, deviations={**state.deviations, deviation.id: deviation})


def _answered(state: State, event: LotAnswered) -> State:
    """The answer counts in every open deviation of the place."""
    answer = event.answer
    changed: dict[DeviationId, Deviation] = dict(state.deviations)
    for deviation in state.deviations.values():
        here = deviation.facts.asked and deviation.facts.equipment == event.equipment
        if deviation.open and here and answer.lot in deviation.lots:
            changed[deviation.id] = deviation.model_copy(update={"answers": (*deviation.answers, answer)})
    state = replace(state, deviations=changed)
    return _moved(state, answer.lot, event.equipment, answer.to) if answer.to is not None else state


def _moved(state: State, lot: LotCode, here: EquipmentId, to: EquipmentId) -> State:
    tasks: dict[TaskId, TaskRecord] = dict(state.tasks)
    for task in state.plan.tasks if state.plan is not None else ():
        record = tasks.get(task.id)
        if task.lot != lot or record is None or record.status is not TaskStatus.IN_HAND:
            continue
        if (record.equipment or task.equipment) == here:
            tasks[task.id] = replace(record, equipment=to)
    return replace(state, tasks=tasks, pantry=state.pantry.moved(SupplyLotId(lot), here, to))


def disposed(deviations: Mapping[DeviationId, Deviation], event: LotDecided) -> dict[DeviationId, Deviation]:
    """The decision stands in every open deviation that the lot is in."""
    disposition = Disposition(
        lot=event.lot,
        at=event.at,
        person=event.person,
        decision=event.decision,
        reason=event.reason,
        second=event.second,
        by_code=event.by_code,
    )
    changed = dict(deviations)
    for deviation in deviations.values():
        if deviation.open and event.lot in deviation.lots:
            changed[deviation.id] = deviation.model_copy(
                update={"dispositions": (*deviation.dispositions, disposition)}
            )
    return changed
