"""What last instants change: they are known, and the alarms that stand say them."""

from dataclasses import replace

from orchestrator.core.events import InstantsFound
from orchestrator.core.found import said_by
from orchestrator.core.models.alarm import Alarm
from orchestrator.core.state import Instants, State


def apply(state: State, event: InstantsFound) -> State:
    """The instants of the adopted plan; of another one they would say nothing. Starts are added to those known."""
    if event.revision != state.revision:
        return state
    known = state.instants or Instants(event.at, {}, ())
    starts = {**known.starts, **{start.task: start for start in event.starts}}
    found = Instants(event.at, starts, known.returns if event.returns is None else event.returns)
    alarms = {alarm: _told(found, known) for alarm, known in state.alarms.items()}
    return replace(state, instants=found, alarms=alarms)


def _told(found: Instants, alarm: Alarm) -> Alarm:
    known, save_by = said_by(found, alarm.facts)
    if not known or alarm.facts.missed or alarm.facts.save_by == save_by:
        return alarm
    return alarm.model_copy(update={"facts": alarm.facts.model_copy(update={"save_by": save_by})})
