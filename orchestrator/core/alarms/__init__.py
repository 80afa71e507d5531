"""Alarms, derived from (state, facts, now) at every command and tick, and their life after ANSI/ISA-18.2."""

from dataclasses import dataclass
from datetime import datetime

from orchestrator.core.alarm_rationale import suppressible
from orchestrator.core.alarms.changes import changes
from orchestrator.core.alarms.doubt_alarms import doubt_conditions
from orchestrator.core.alarms.holding_back import held_back, held_until
from orchestrator.core.alarms.look import Look, alarm_id, look
from orchestrator.core.alarms.order_alarms import order_conditions
from orchestrator.core.alarms.overdue_alarms import overdue_conditions
from orchestrator.core.alarms.past_alarms import past_conditions
from orchestrator.core.alarms.place_alarms import place_conditions
from orchestrator.core.alarms.probe_alarms import probe_conditions
from orchestrator.core.alarms.supply_alarms import supply_conditions
from orchestrator.core.alarms.target_alarms import target_conditions
from orchestrator.core.alarms.undecided_orders import undecided_conditions
from orchestrator.core.alarms.unplanned_alarms import unplanned_conditions
from orchestrator.core.alarms.window_alarms import held_misses, window_conditions
from orchestrator.core.events import AlarmReturned, Event
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import AlarmFacts
from orchestrator.core.state import Facts, State

__all__ = ["Look", "Watched", "alarm_events", "alarm_id", "conditions", "held_until", "look", "suppressed", "watch"]


@dataclass(frozen=True, slots=True)
class Watched:
    """What the alarms make of a state."""

    events: tuple[Event, ...]
    """What has to be put on record."""
    held: tuple[AlarmFacts, ...]
    """What is foreseen and not told yet, because a new plan may mend it; see `holding_back`."""


def conditions(state: State, facts: Facts, now: datetime, *, advise: bool = True) -> dict[AlarmId, AlarmFacts]:
    """Everything that needs somebody now, by alarm; one alarm for each subject.

    Args:
        state: what has happened.
        facts: the freshest fact of every probe.
        now: aware instant.
        advise: also find until when each could still be saved, which takes some projections more.

    Returns:
        Facts by alarm id; empty before there is a kitchen.
    """
    return _told_and_held(state, facts, now, advise=advise)[0]


def _told_and_held(
    state: State, facts: Facts, now: datetime, *, advise: bool
) -> tuple[dict[AlarmId, AlarmFacts], tuple[AlarmFacts, ...]]:
    seen = look(state, facts, now, advise=advise)
    if seen is None:
        return {}, ()
    found = _found(seen)
    held = held_back(seen, found)
    return {a: f for a, f in found.items() if a not in held}, tuple(found[a] for a in sorted(held))


def _found(seen: Look) -> dict[AlarmId, AlarmFacts]:
    windows = window_conditions(seen)
    return {
        **held_misses(seen),
        **place_conditions(seen),
        **probe_conditions(seen),
        **doubt_conditions(seen),
        **target_conditions(seen),
        **_not_spoken_for(overdue_conditions(seen), windows),
        **windows,
        **order_conditions(seen),
        **unplanned_conditions(seen),
        **undecided_conditions(seen),
        **supply_conditions(seen),
        **past_conditions(seen),
    }


def _not_spoken_for(
    overdue: dict[AlarmId, AlarmFacts], windows: dict[AlarmId, AlarmFacts]
) -> dict[AlarmId, AlarmFacts]:
    """Suppressed by design: a task whose window raises an alarm needs no second one for being late."""
    spoken_for = {(facts.task, facts.kind) for facts in windows.values()}
    return {a: f for a, f in overdue.items() if (f.task, suppressible(f.kind)) not in spoken_for}


def suppressed(state: State, facts: Facts, now: datetime) -> int:
    """How many conditions are told by no alarm of their own just now, because a worse one tells them."""
    seen = look(state, facts, now, advise=False)
    if seen is None:
        return 0
    overdue = overdue_conditions(seen)
    return len(overdue) - len(_not_spoken_for(overdue, window_conditions(seen)))


def watch(state: State, facts: Facts, now: datetime) -> Watched:
    """What has to be put on record so that the alarms of the state are those of its conditions."""
    told, held = _told_and_held(state, facts, now, advise=False)
    events = changes(state.alarms, told, now)
    if not all(isinstance(event, AlarmReturned) for event in events):
        events = changes(state.alarms, conditions(state, facts, now), now)
    return Watched(events, held)


def alarm_events(state: State, facts: Facts, now: datetime) -> tuple[Event, ...]:
    """The events of `watch`."""
    return watch(state, facts, now).events
