"""Alarms, derived from (state, facts, now) at every command and tick, and their life after ANSI/ISA-18.2."""

from datetime import datetime

from orchestrator.core.alarm_rationale import suppressible
from orchestrator.core.alarms.changes import changes
from orchestrator.core.alarms.look import Look, alarm_id, look
from orchestrator.core.alarms.order_alarms import order_conditions
from orchestrator.core.alarms.overdue_alarms import overdue_conditions
from orchestrator.core.alarms.place_alarms import place_conditions
from orchestrator.core.alarms.probe_alarms import probe_conditions
from orchestrator.core.alarms.target_alarms import target_conditions
from orchestrator.core.alarms.window_alarms import held_misses, window_conditions
from orchestrator.core.events import AlarmReturned, Event
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import AlarmFacts
from orchestrator.core.state import Facts, State

__all__ = ["Look", "alarm_events", "alarm_id", "conditions", "look"]


def conditions(state: State, facts: Facts, now: datetime, *, advise: bool = True) -> dict[AlarmId, AlarmFacts]:
    """Everything that needs somebody now, by alarm; one alarm for each subject.

    Args:
        state: what has happened.
        facts: the freshest fact of every probe.
        now: aware instant.
        advise: also find until when each could still be saved, which takes some projections more.

    Returns:
        Facts by alarm id; empty while there is no plan.
    """
    seen = look(state, facts, now, advise=advise)
    if seen is None:
        return {}
    windows = window_conditions(seen)
    return {
        **held_misses(seen),
        **place_conditions(seen),
        **probe_conditions(seen),
        **target_conditions(seen),
        **_not_spoken_for(overdue_conditions(seen), windows),
        **windows,
        **order_conditions(seen),
    }


def _not_spoken_for(
    overdue: dict[AlarmId, AlarmFacts], windows: dict[AlarmId, AlarmFacts]
) -> dict[AlarmId, AlarmFacts]:
    """Suppressed by design: a task whose window raises an alarm needs no second one for being late."""
    spoken_for = {(facts.task, facts.kind) for facts in windows.values()}
    return {a: f for a, f in overdue.items() if (f.task, suppressible(f.kind)) not in spoken_for}


def alarm_events(state: State, facts: Facts, now: datetime) -> tuple[Event, ...]:
    """What has to be put on record so that the alarms of the state are those of its conditions."""
    events = changes(state.alarms, conditions(state, facts, now, advise=False), now)
    if all(isinstance(event, AlarmReturned) for event in events):
        return events
    return changes(state.alarms, conditions(state, facts, now), now)
