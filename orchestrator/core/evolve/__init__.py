"""What an event changes. Total over all events; a new state is made, the old one is never touched."""

from dataclasses import replace
from functools import lru_cache
from typing import assert_never

from orchestrator.core.call_events import (
    CallDelivered,
    CallFailed,
    CallGaveUp,
    CallMade,
    CallPlanTaken,
    ChannelsChecked,
)
from orchestrator.core.clock_events import ClockSet
from orchestrator.core.days_events import DaysMoved
from orchestrator.core.events import (
    ActUndone,
    AlarmAcknowledged,
    AlarmEscalated,
    AlarmRaised,
    AlarmReturned,
    AlarmShelved,
    AlarmUnshelved,
    DurationsAdopted,
    DurationsRestored,
    FactRecorded,
    InstantsFound,
    KitchenEvent,
    KitchenImported,
    MachineReturned,
    MachineStopped,
    PlanAdopted,
    PlanDeclined,
    PlanProposed,
    ProblemReported,
    Recorded,
    ReplanWanted,
    StopAssumed,
    TaskExtended,
    TaskFinished,
    TaskFreed,
    TaskHeld,
    TaskSkipped,
    TaskStarted,
    TemperatureEntered,
    TrayFinished,
    WeightEntered,
)
from orchestrator.core.evolve import (
    alarms,
    calls,
    days,
    deviations,
    durations,
    handover,
    kitchen,
    lots,
    machines,
    paces,
    plans,
    stock,
    tasks,
    tongue,
    unseen,
)
from orchestrator.core.handover_events import ShiftHandedOver, ShiftTakenOver
from orchestrator.core.kitchen_events import IngredientsTaken, KitchenChanged
from orchestrator.core.lot_events import (
    ActionTaken,
    DeviationClosed,
    DeviationEvent,
    DeviationOpened,
    DeviationSpread,
    LotAnswered,
    LotDecided,
    LotHeld,
    PlaceRecovered,
    RecordLookedThrough,
)
from orchestrator.core.pace_events import PaceLearned, ReductionLearned
from orchestrator.core.planning import PLAN_PATIENCE
from orchestrator.core.probe_book import placed, with_event
from orchestrator.core.probe_events import ProbeAssigned, ProbeEvent
from orchestrator.core.recipe_events import DraftPutAway, DraftWritten, PersonCame, PersonWent, TrialRecorded
from orchestrator.core.state import State
from orchestrator.core.stock_events import StockEvent
from orchestrator.core.tongue_events import TextsTaken, WaysChosen


class _Step:
    """A state and a record of an event that was decided in it: a memo's key, by identity as far as that is dear."""

    __slots__ = ("recorded", "state")

    def __init__(self, state: State, recorded: Recorded) -> None:
        self.state = state
        self.recorded = recorded

    def __hash__(self) -> int:
        return hash((id(self.state), id(self.recorded.event)))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, _Step) or other.state is not self.state:
            return False
        one, two = self.recorded, other.recorded
        same = one.event is two.event and one.command_id == two.command_id
        return same and one.at == two.at and one.seq == two.seq


@lru_cache(maxsize=16)
def _evolved(step: _Step) -> State:
    return evolve(step.state, step.recorded)


def evolve_decided(state: State, recorded: Recorded) -> State:
    """As `evolve`, once: whoever decides looks ahead at the state that its events lead to, and whoever puts them on
    record comes to that very state, with all that was found out about it. In a replay it costs a microsecond an event.
    """
    return _evolved(_Step(state, recorded))


def evolve(state: State, recorded: Recorded) -> State:
    """The state after one more event of the log.

    Args:
        state: The state so far.
        recorded: The next event; its seq must be one more than the state's.

    Raises:
        ValueError: an event is missing between them or comes twice.
    """
    if recorded.seq != state.seq + 1:
        raise ValueError(f"event {recorded.seq} cannot follow {state.seq}: the log has a gap or a repeat")
    event = recorded.event
    if isinstance(event, StockEvent):
        changed = stock.apply(state, event)
    else:
        changed = _probe(state, event) if isinstance(event, ProbeEvent) else _apply(state, recorded, event)
    changed = unseen.noted(state, changed, recorded)
    return replace(changed, seq=recorded.seq, seen=state.seen.with_newest(recorded.command_id, recorded.seq))


def _apply(state: State, recorded: Recorded, event: KitchenEvent) -> State:  # noqa: PLR0911, PLR0912 - a table of events
    match event:
        case (
            TaskStarted()
            | TaskFinished()
            | TrayFinished()
            | TaskExtended()
            | ProblemReported()
            | TaskSkipped()
            | TemperatureEntered()
            | WeightEntered()
        ):
            return durations.noted(tasks.apply(state, recorded, event), event)
        case ActUndone():
            return paces.forget_taken_back(state, durations.forget_unfinished(tasks.undo(state, event)))
        case KitchenChanged():
            return kitchen.apply(state, recorded, event)
        case IngredientsTaken():
            return kitchen.ingredients_taken(state, event)
        case MachineStopped():
            return kitchen.stop_begun(machines.apply(state, event), event.equipment, recorded.at)
        case ShiftHandedOver() | ShiftTakenOver():
            return handover.apply(state, recorded, event)
        case RecordLookedThrough():
            return lots.looked_through(state, event)
        case LotHeld() | LotDecided():
            return lots.apply(state, recorded, event)
        case PlanAdopted() | PlanProposed() | PlanDeclined() | InstantsFound() | TaskHeld() | TaskFreed():
            return plans.apply(state, recorded, event)
        case CallPlanTaken() | ChannelsChecked() | CallMade() | CallDelivered() | CallFailed() | CallGaveUp():
            return calls.apply(state, recorded, event)
        case DraftWritten() | TrialRecorded() | DraftPutAway():
            return replace(state, drafts=state.drafts.with_event(event))
        case WaysChosen() | TextsTaken():
            return tongue.apply(state, event)
        case PersonCame() | PersonWent():
            return replace(state, attendance=state.attendance.with_event(event))
        case _:
            return _apply_rest(state, event)


def _probe(state: State, event: ProbeEvent) -> State:
    known = state.kitchen
    if isinstance(event, ProbeAssigned) and known is not None:
        known = placed(known, event)
    return replace(state, kitchen=known, probes=with_event(state.probes, event))


def _apply_rest(  # noqa: PLR0911 - a table of events
    state: State,
    event: KitchenImported
    | StopAssumed
    | MachineReturned
    | DurationsAdopted
    | DurationsRestored
    | ReplanWanted
    | FactRecorded
    | PaceLearned
    | ReductionLearned
    | ClockSet
    | DaysMoved
    | alarms.AlarmEvent
    | DeviationEvent,
) -> State:
    match event:
        case (
            AlarmRaised() | AlarmEscalated() | AlarmAcknowledged() | AlarmReturned() | AlarmShelved() | AlarmUnshelved()
        ):
            return calls.after_alarm(state, alarms.apply(state, event), event)
        case (
            DeviationOpened() | DeviationSpread() | DeviationClosed() | PlaceRecovered() | ActionTaken() | LotAnswered()
        ):
            return deviations.apply(state, event)
        case DurationsAdopted() | DurationsRestored():
            return durations.apply(state, event)
        case PaceLearned() | ReductionLearned():
            return paces.apply(state, event)
        case StopAssumed() | MachineReturned():
            return machines.apply(state, event)
        case DaysMoved():
            return days.apply(state, event)
        case ClockSet():
            return state  # for whoever reads the record: nothing is decided by it
        case KitchenImported():
            return kitchen.imported(state, event.kitchen)
        case ReplanWanted():
            # A wish within the patience of another, or soon after it, does not prolong it: what was held back has been
            # told by then, and is not held back for longer.
            since = state.replan_wanted_at
            waits = state.replan_reason and since is not None and event.at < since + 2 * PLAN_PATIENCE
            wanted_at = since if waits else event.at
            return replace(state, replan_reason=event.reason or "asked for", replan_wanted_at=wanted_at)
        case FactRecorded():
            return replace(state, facts={**state.facts, event.fact.probe: event.fact})
        case _:
            assert_never(event)
