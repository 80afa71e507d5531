"""Last instants that the planner found, and what they say about an alarm."""

from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind
from orchestrator.core.models.questions import LatestReturn, LatestStart
from orchestrator.core.state import Instants, State

_OF_TASKS: Final = (AlarmKind.WINDOW_CLOSING, AlarmKind.TASK_LATE, AlarmKind.ORDER_LATE)
LATER_MATTERS: Final = timedelta(minutes=5)
"""An instant that has become later by less is not put on record anew; one that has become earlier always is: people
may be counting on it."""


def latest_start(state: State, task: TaskId) -> LatestStart | None:
    """Until when a task can start with every order and window kept, as found for the adopted plan."""
    return state.instants.starts.get(task) if state.instants is not None else None


def latest_return(found: Instants, machine: EquipmentId) -> tuple[bool, datetime | None]:
    """Until when a machine must be back so that nothing more is lost.

    Returns:
        Whether it was looked for and anything depends on it; the earliest of the instants found, none if none was.
    """
    returns = [one for one in found.returns if one.equipment == machine]
    return bool(returns), min((one.at for one in returns if one.at is not None), default=None)


def said_by(found: Instants, facts: AlarmFacts) -> tuple[bool, datetime | None]:
    """What the instants say about an alarm.

    Returns:
        Whether they say anything; the latest instant that still saves what it is about, none if none was found.
    """
    if facts.kind is AlarmKind.MACHINE_STOPPED and facts.equipment is not None:
        return latest_return(found, facts.equipment)
    start = found.starts.get(facts.task) if facts.task is not None and facts.kind in _OF_TASKS else None
    return (False, None) if start is None else (True, start.at)


def news(known: Instants | None, starts: tuple[LatestStart, ...], returns: tuple[LatestReturn, ...] | None) -> bool:
    """Whether instants say something that those on record do not."""
    if known is None or (returns is not None and set(returns) != set(known.returns)):
        return True
    return any(_differs(known.starts.get(start.task), start) for start in starts)


def _differs(before: LatestStart | None, after: LatestStart) -> bool:
    return before is None or after.at < before.at or after.at - before.at >= LATER_MATTERS
