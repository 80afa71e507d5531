"""Who is in the kitchen at an instant, and whose hands are free."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from orchestrator.core.ids import CrewId
from orchestrator.core.models import CrewMember, Kitchen, PlannedTask
from orchestrator.core.state import State, TaskStatus


class Roster:
    """Shifts less breaks, and people who are late."""

    def __init__(self, kitchen: Kitchen) -> None:
        self._crew = kitchen.crew
        self.away: dict[CrewId, tuple[datetime, datetime]] = {}
        """People who are not where their shift says, from and until when."""

    def there(self, now: datetime) -> tuple[CrewMember, ...]:
        """Everybody at work now, in the order of the crew list."""
        return tuple(member for member in self._crew if self._works(member, now))

    def skilled(self, now: datetime, skill: str | None) -> tuple[CrewMember, ...]:
        """Everybody at work now who can do that."""
        return tuple(m for m in self.there(now) if skill is None or skill in m.skills)

    def _works(self, member: CrewMember, now: datetime) -> bool:
        away = self.away.get(member.id)
        if away is not None and away[0] <= now < away[1]:
            return False
        return any(
            shift.start <= now < shift.end and not any(b.start <= now < b.end for b in shift.breaks)
            for shift in member.shifts
        )

    def next_change(self, now: datetime) -> datetime | None:
        """When somebody comes or goes next."""
        edges = [until for _, until in self.away.values()]
        for member in self._crew:
            for shift in member.shifts:
                edges += [shift.start, shift.end, *(b.end for b in shift.breaks)]
        return min((edge for edge in edges if edge > now), default=None)

    def next_shift_start(self, member: CrewId, now: datetime) -> datetime | None:
        """When that person is expected next."""
        starts = [s.start for m in self._crew if m.id == member for s in m.shifts if s.start > now]
        return min(starts, default=None)


def wants_hands_at_start(task: PlannedTask) -> bool:
    """Whether it cannot begin by itself."""
    return any(a.when in ("throughout", "start") for a in task.attended)


def wants_hands_at_end(task: PlannedTask) -> bool:
    """Whether it cannot end by itself."""
    return any(a.when in ("throughout", "end") for a in task.attended)


def occupied(state: State, now: datetime) -> set[CrewId]:
    """Whose hands are in a task now."""
    busy: set[CrewId] = set()
    if state.plan is None:
        return busy
    for task in state.plan.tasks:
        record = state.record(task.id)
        if record.status is TaskStatus.IN_HAND and record.started_at is not None:
            busy |= _hands_in(task, record.started_by, now - record.started_at)
    return busy


def _hands_in(task: PlannedTask, started_by: CrewId | None, since_start: timedelta) -> set[CrewId]:
    for portion in task.attended:
        minutes = portion.minutes or 0
        if portion.when == "throughout" or (portion.when == "start" and since_start < timedelta(minutes=minutes)):
            planned: Iterable[CrewId] = task.spans[0].crew if task.spans else ()
            others = set(planned) if task.hands > 1 else set()
            return others | ({started_by} if started_by else set(planned))
    return set()
