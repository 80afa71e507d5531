"""Who is to be called now about which alarm, and when the next person's turn comes. Pure; `now` is given.

An alarm that nobody has seen calls the people of the call plan one after the other until somebody marks it as seen or
it is over; after the last it begins again. In quiet hours all but critical alarms pass a person over, and reach them
at the end of these hours if they still stand. What is due for one person at once is one call.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.call_book import Turn
from orchestrator.core.call_events import CallAbout, CallMade
from orchestrator.core.ids import CalleeId
from orchestrator.core.models import Kitchen
from orchestrator.core.models.alarm import Alarm, AlarmStatus, Priority
from orchestrator.core.models.calls import Callee, CallFault, CallPlan, CallStatus, CallWhy
from orchestrator.core.presence import empty_from
from orchestrator.core.state import State

GATHER: Final = timedelta(minutes=2)
"""Nobody is called twice within this time: what comes meanwhile is one call; a figure of ours."""


@dataclass(frozen=True, slots=True)
class Wish:
    """Somebody to be called about an alarm, now or later, unless something happens before."""

    alarm: Alarm
    to: CalleeId
    at: datetime
    why: CallWhy
    passed: tuple[CalleeId, ...] = ()


def calls_anybody(alarm: Alarm, plan: CallPlan) -> bool:
    """Whether an alarm calls people: not seen, not over, not shelved, and of a priority that calls."""
    if alarm.status is not AlarmStatus.UNACKNOWLEDGED:
        return False
    return alarm.facts.priority in plan.priorities


def due_calls(state: State, now: datetime) -> tuple[CallMade, ...]:
    """Calls to be made now; one for each person.

    Args:
        state: Everything that is known; alarms and calls up to now.
        now: Aware instant; how late it comes does not matter.

    Returns:
        Events to be put on record, in the order of the people; empty without a call plan.
    """
    due: dict[CalleeId, list[Wish]] = {}
    for wish in wishes(state, now):
        if wish.at <= now:
            due.setdefault(wish.to, []).append(wish)
    ready = ((to, group) for to, group in due.items() if _earliest(state, to, now) <= now)
    return tuple(
        CallMade(
            at=now,
            to=to,
            about=tuple(
                CallAbout(alarm=one.alarm.id, why=one.why, title=one.alarm.facts.title, passed=one.passed)
                for one in group
            ),
        )
        for to, group in ready
    )


def next_call_at(state: State, now: datetime) -> datetime | None:
    """The first instant after ``now`` at which somebody is to be called, if nothing happens before."""
    instants = (max(wish.at, _earliest(state, wish.to, now)) for wish in wishes(state, now))
    return min((instant for instant in instants if instant > now), default=None)


def wishes(state: State, now: datetime) -> list[Wish]:
    """For every alarm that calls, whose turn is next and when; and who was passed over and is still to be told.

    Sorted by the order of the people, then by alarm: critical ones first, then the oldest.
    """
    kitchen = state.kitchen
    if kitchen is None or not kitchen.calls.people:
        return []
    found: list[Wish] = []
    for alarm in _calling(state, kitchen.calls):
        found += _of_alarm(state, kitchen, alarm, now)
    order = [one.id for one in kitchen.calls.people]
    ranks = list(Priority)
    return sorted(
        found,
        key=lambda w: (order.index(w.to), ranks.index(w.alarm.facts.priority), w.alarm.raised_at, w.alarm.id),
    )


def _calling(state: State, plan: CallPlan) -> Iterable[Alarm]:
    return (alarm for alarm in state.alarms.values() if calls_anybody(alarm, plan))


def _of_alarm(state: State, kitchen: Kitchen, alarm: Alarm, now: datetime) -> Iterator[Wish]:
    turn = state.calls.turns.get(alarm.id)
    following = _first(kitchen, alarm, now) if turn is None else _following(state, kitchen, alarm, turn, now)
    for to in turn.held if turn is not None else ():
        callee = kitchen.calls.callee(to)
        until = _quiet_until(kitchen, callee, alarm, now) or now if callee is not None else None
        if until is None:
            continue  # off the list
        if to == following.to:
            following = replace(following, at=min(following.at, until))
        else:
            yield Wish(alarm, to, until, CallWhy.HELD_BACK)
    yield following


def _first(kitchen: Kitchen, alarm: Alarm, now: datetime) -> Wish:
    """While somebody is there, they have a while to see it; nobody there is called at once."""
    since = max(alarm.raised_at, alarm.escalated_at or alarm.raised_at, alarm.unshelved_at or alarm.raised_at)
    at = min(since + timedelta(minutes=kitchen.calls.first_after), empty_from(kitchen, since))
    found = _pick(kitchen, alarm, max(at, now), 0, CallWhy.FIRST)
    late = found.at > max(at, now) or (now > at and _was_quiet(kitchen, alarm, found.to, at))
    return replace(found, why=CallWhy.HELD_BACK) if late else found


def _following(state: State, kitchen: Kitchen, alarm: Alarm, turn: Turn, now: datetime) -> Wish:
    """After the last of the list it begins again with the first; who could not be reached is not waited for."""
    plan = kitchen.calls
    number = next((n for n, one in enumerate(plan.people) if one.id == turn.last), -1)
    again_at = max(turn.at + timedelta(minutes=plan.again_after), now)
    if number + 1 >= len(plan.people):
        return _pick(kitchen, alarm, again_at, 0, CallWhy.AGAIN)
    at = turn.at + timedelta(minutes=plan.next_after)
    call = state.calls.call(turn.call)
    unreached = call is not None and call.status is CallStatus.GAVE_UP
    if unreached and call is not None and not any(one.fault is CallFault.PRACTICE for one in call.faults):
        at = min(at, call.ended_at or at)
    at = max(at, now)
    later = plan.people[number + 1 :]
    if all(_quiet_until(kitchen, one, alarm, at) for one in later):
        # Nobody is left to be called now: the next round, or whoever's quiet hours end before that.
        first_end = min(end for one in later if (end := _quiet_until(kitchen, one, alarm, at)) is not None)
        if again_at < first_end:
            again = _pick(kitchen, alarm, again_at, 0, CallWhy.AGAIN)
            passed = (one for one in plan.people if one in later or one.id in again.passed)
            return replace(again, passed=tuple(one.id for one in passed if one.id != again.to))
        at = first_end
    return _pick(kitchen, alarm, at, number + 1, CallWhy.NEXT)


def _ids(people: Iterable[Callee]) -> tuple[CalleeId, ...]:
    return tuple(one.id for one in people)


def _was_quiet(kitchen: Kitchen, alarm: Alarm, to: CalleeId, at: datetime) -> bool:
    """Whether somebody could not be called when it was their turn."""
    callee = kitchen.calls.callee(to)
    return callee is not None and _quiet_until(kitchen, callee, alarm, at) is not None


def _pick(kitchen: Kitchen, alarm: Alarm, at: datetime, start: int, why: CallWhy) -> Wish:
    """The first from there on in the list who may be called then; if none may, whose quiet hours end first."""
    people = kitchen.calls.people[start:]
    ends = [_quiet_until(kitchen, one, alarm, at) for one in people]
    free = next((number for number, end in enumerate(ends) if end is None), None)
    if free is not None:
        return Wish(alarm, people[free].id, at, why, _ids(people[:free]))
    first = min((end, number) for number, end in enumerate(ends) if end is not None)
    still = (one for one, end in zip(people, ends, strict=True) if end is not None and end > first[0])
    return Wish(alarm, people[first[1]].id, first[0], why, _ids(still))


def _quiet_until(kitchen: Kitchen, callee: Callee, alarm: Alarm, at: datetime) -> datetime | None:
    """When somebody may be called about an alarm, if not at that instant."""
    if alarm.facts.priority is Priority.CRITICAL:
        return None
    end = callee.quiet_until(kitchen.local(at))
    return None if end is None else end.astimezone(at.tzinfo)


def _earliest(state: State, to: CalleeId, now: datetime) -> datetime:
    last = state.calls.last_to(to)
    return now if last is None else last + GATHER
