"""Who is in the kitchen at an instant, and whose hands are free."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.ids import CrewId
from orchestrator.core.models import CrewMember, Kitchen, PlannedTask
from orchestrator.core.state import State, TaskStatus

LONGEST_OVERTIME: Final = timedelta(hours=2, minutes=30)
"""So long after their shift people stay for food that would spoil without them; a figure of ours."""


class Roster:
    """Shifts less breaks, people who are late, and people who stay on to end what is in their hands."""

    def __init__(self, kitchen: Kitchen) -> None:
        self._crew = kitchen.crew
        self.away: dict[CrewId, tuple[datetime, datetime]] = {}
        """People who are not where their shift says, from and until when."""
        self.staying: frozenset[CrewId] = frozenset()
        """People whose shift is over and who have not left yet."""

    def read(self, kitchen: Kitchen) -> None:
        """Shifts as they are by now: who was said to be away stays at home, and who was asked to come as well comes."""
        self._crew = kitchen.crew

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
        return member.id in self.staying or self._on_shift(member, now)

    def _on_shift(self, member: CrewMember, now: datetime) -> bool:
        return any(
            shift.start <= now < shift.end and not any(b.start <= now < b.end for b in shift.breaks)
            for shift in member.shifts
        )

    def see_who_stays(self, state: State, now: datetime) -> None:
        """Nobody leaves attended work in hand that nobody else on shift can end: they stay a little longer."""
        needed = _unended(state)
        if not needed:
            self.staying = frozenset()
            return
        staying: set[CrewId] = set()
        for task, started_by, started_at in needed:
            able = self.able(task.skill)
            if any(self._on_shift(m, now) or m.id in staying for m in able):
                continue
            left = [(self._left_at(m, now), m) for m in able if m.id not in self.away]
            late = [(left_at, m) for left_at, m in left if left_at is not None]
            here = [m.id for left_at, m in late if m.id == started_by or started_at <= left_at]
            if here:
                staying.add(started_by if started_by in here else here[-1])
        self.staying = frozenset(staying)

    def _left_at(self, member: CrewMember, now: datetime) -> datetime | None:
        """When the shift ended after which that person may still be there."""
        ends = [s.end for s in member.shifts if s.end <= now < s.end + LONGEST_OVERTIME]
        return max(ends, default=None)

    def time_left(self, member: CrewId, now: datetime) -> timedelta:
        """Until that person's shift ends; nothing for somebody who only stays on."""
        ends = [s.end for m in self._crew if m.id == member for s in m.shifts if s.start <= now < s.end]
        return max(ends, default=now) - now

    def able(self, skill: str | None) -> tuple[CrewMember, ...]:
        """Everybody who can do that, at work or not."""
        return tuple(m for m in self._crew if skill is None or skill in m.skills)

    def on_shift_at(self, member: CrewId, at: datetime) -> bool:
        """Whether that person is expected to be there then."""
        return any(self._on_shift(m, at) for m in self._crew if m.id == member)

    def next_there(self, skill: str | None, now: datetime) -> datetime | None:
        """When the next shift of somebody with the skill begins."""
        return min((s.start for m in self.able(skill) for s in m.shifts if s.start > now), default=None)

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


def _unended(state: State) -> list[tuple[PlannedTask, CrewId | None, datetime]]:
    """Work in hand that does not end without hands, who began it, and when."""
    if state.plan is None:
        return []
    found = []
    for task in state.plan.tasks:
        record = state.record(task.id)
        if record.status is TaskStatus.IN_HAND and record.started_at is not None and wants_hands_at_end(task):
            found.append((task, record.started_by, record.started_at))
    return found


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
