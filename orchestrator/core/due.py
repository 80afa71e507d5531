"""When the kitchen must next be looked at although nobody does anything: derived from the state, never stored."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.alarms import Look, look
from orchestrator.core.alarms.order_alarms import order_conditions
from orchestrator.core.alarms.overdue_alarms import late_from, overdue_conditions
from orchestrator.core.alarms.place_alarms import half_grace
from orchestrator.core.alarms.target_alarms import longest_end
from orchestrator.core.alarms.window_alarms import lead, slack, warned_from, window_conditions
from orchestrator.core.ids import AlarmId
from orchestrator.core.models import TaskKind
from orchestrator.core.state import State, TaskStatus
from orchestrator.core.windows import bounds, start_bounds

_RESOLUTION: Final = timedelta(seconds=1)
_SAMPLES: Final = 4
_JUST_AFTER: Final = timedelta(microseconds=1)
"""Misses begin after a limit, not at it."""


def next_due(state: State, now: datetime) -> datetime | None:
    """The earliest instant after ``now`` at which conditions or states may change by time alone.

    Args:
        state: what has happened; its own facts are looked at.
        now: aware instant.

    Returns:
        The instant, to within a second for misses that only the live plan foresees; none when nothing
        is ever due. Between now and then `alarms.conditions` names the same alarms, missed or not.
    """
    seen = look(state, state.facts, now)
    if seen is None:
        return None
    instants = [i for i in _instants(seen) if i > now]
    horizon = min(instants, default=None)
    if horizon is None:
        return None
    return _first_change(state, now, horizon) or horizon


def _instants(seen: Look) -> Iterator[datetime]:
    yield from _window_instants(seen)
    yield from (i for spans in seen.kitchen.hours.values() for span in spans for i in span)
    yield from _order_and_place_instants(seen)
    if seen.state.proposal is not None:
        yield seen.state.proposal.decide_by


def _window_instants(seen: Look) -> Iterator[datetime]:
    warnings = seen.kitchen.kitchen.warnings
    for task in seen.plan.tasks.values():
        status = seen.status(task)
        if status is TaskStatus.WAITING and task.kind is not TaskKind.STAY:
            yield task.start
            yield late_from(seen, task)
            window = start_bounds(seen.state, task, seen.live)
            warned = warned_from(window, task, warnings.window_lead)
        elif status is TaskStatus.IN_HAND:
            longest = longest_end(task, seen.state.record(task.id))
            if longest is not None and task.kind is not TaskKind.STAY:
                yield longest
            window = bounds(seen.state, task, seen.live)
            warned = window.closes - lead(window, warnings.window_lead) if window.closes is not None else None
        else:
            continue
        if window.closes is not None and warned is not None and window.firm:
            yield warned
            yield window.closes + slack(window) + _JUST_AFTER


def _order_and_place_instants(seen: Look) -> Iterator[datetime]:
    for order in seen.kitchen.orders.values():
        yield order.due - timedelta(minutes=seen.kitchen.kitchen.warnings.order_lead)
        yield order.due + _JUST_AFTER
    for equipment_id, stop in seen.state.machines.items():
        if stop.until is not None and equipment_id in seen.kitchen.equipment:
            yield stop.until
    for fact in seen.facts.values():
        place = seen.kitchen.equipment.get(fact.equipment)
        if fact.outside_since is not None and place is not None and place.holds is not None:
            yield fact.outside_since + half_grace(place.holds)
            yield fact.outside_since + timedelta(minutes=place.holds.grace)


def _live_risks(state: State, now: datetime) -> frozenset[tuple[AlarmId, bool]]:
    """What the passing of time pushes over a limit without any instant named for it."""
    seen = look(state, state.facts, now, advise=False)
    if seen is None:
        return frozenset()
    found = {**overdue_conditions(seen), **window_conditions(seen), **order_conditions(seen)}
    return frozenset((alarm, facts.missed) for alarm, facts in found.items())


def _first_change(state: State, now: datetime, until: datetime) -> datetime | None:
    """The first second in (now, until) at which the live plan foresees something else; none if none does.

    Looked for at a few instants between, since a shift's end may bring a risk that passes again.
    """
    before = _live_risks(state, now)
    same = now
    for part in range(1, _SAMPLES + 1):
        other = now + (until - _JUST_AFTER - now) * part / _SAMPLES
        if _live_risks(state, other) != before:
            break
        same = other
    else:
        return None
    while other - same > _RESOLUTION:
        middle = same + (other - same) / 2
        same, other = (middle, other) if _live_risks(state, middle) == before else (same, middle)
    return other
