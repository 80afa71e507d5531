"""When the kitchen must next be looked at although nobody does anything: derived from the state, never stored."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.alarms import Look, held_until, look
from orchestrator.core.alarms.order_alarms import order_conditions
from orchestrator.core.alarms.overdue_alarms import late_from, overdue_conditions, overrun_from, overrun_warned_from
from orchestrator.core.alarms.past_dates import instants
from orchestrator.core.alarms.place_alarms import half_grace, heard_for, out_since
from orchestrator.core.alarms.supply_alarms import supply_instants
from orchestrator.core.alarms.target_alarms import longest_end
from orchestrator.core.alarms.undecided_orders import asked_at
from orchestrator.core.alarms.window_alarms import lead, slack, warned_from, window_conditions
from orchestrator.core.calls import next_call_at
from orchestrator.core.day_marks import next_day
from orchestrator.core.days import moves_at
from orchestrator.core.deviations.places import longest_gap, on_hand, unseen_from
from orchestrator.core.ids import AlarmId
from orchestrator.core.models import Equipment, TaskKind
from orchestrator.core.probe_traces import check_due
from orchestrator.core.projection import project
from orchestrator.core.state import State, TaskStatus
from orchestrator.core.ties import tied
from orchestrator.core.windows import bounds, start_bounds

_RESOLUTION: Final = timedelta(seconds=1)
_SAMPLES: Final = 2
_LOOK_AHEAD: Final = timedelta(hours=1)
"""So far ahead the live plan is sampled while time moves it: every half hour; a figure of ours."""
_JUST_AFTER: Final = timedelta(microseconds=1)
"""Misses begin after a limit, not at it."""


def next_due(state: State, now: datetime) -> datetime | None:
    """The earliest instant after ``now`` at which conditions or states may change by time alone.

    Args:
        state: what has happened; its own facts are looked at.
        now: aware instant.

    Returns:
        The instant, to within a second for misses that only the live plan foresees, or in an hour while time
        moves the live plan; none when nothing is ever due. Between now and then `alarms.conditions` names the
        same alarms, missed or not.
    """
    seen = look(state, state.facts, now, advise=False)
    if seen is None:
        return None
    horizon = min((i for i in _instants(seen) if i > now), default=None)
    return None if horizon is None else _first_change(seen, horizon)


def _instants(seen: Look) -> Iterator[datetime]:
    yield from _window_instants(seen)
    yield from (i for spans in seen.kitchen.hours.values() for span in spans for i in span)
    yield from _order_and_place_instants(seen)
    yield from _probe_instants(seen)
    yield from _jumps(seen)
    yield from supply_instants(seen)
    yield from instants(seen)
    yield from (alarm.shelved_until for alarm in seen.state.alarms.values() if alarm.shelved and alarm.shelved_until)
    yield max(moves_at(seen.kitchen.kitchen), seen.now + _RESOLUTION)  # long overdue after weeks without power: soon
    day = next_day(seen.state, seen.now)
    if day is not None:
        yield day
    until = held_until(seen.state)
    if until is not None:
        yield until
    if seen.state.proposal is not None:
        yield seen.state.proposal.decide_by
    call_at = next_call_at(seen.state, seen.now)
    if call_at is not None:
        yield call_at


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
            longest = longest_end(seen.state, task)
            if longest is not None and task.kind is not TaskKind.STAY:
                yield longest
                yield (overrun_from(seen, task) or longest) + _JUST_AFTER
                yield (overrun_warned_from(seen, task) or longest) + _JUST_AFTER
            window = bounds(seen.state, task, seen.live)
            warned = window.closes - lead(window, warnings.window_lead) if window.closes is not None else None
            if window.closes is not None:
                yield window.closes + _JUST_AFTER
        else:
            continue
        if window.closes is not None and warned is not None and window.firm:
            yield warned
            yield window.closes + slack(window) + _JUST_AFTER


def _order_and_place_instants(seen: Look) -> Iterator[datetime]:
    for order in seen.kitchen.orders.values():
        yield order.due - timedelta(minutes=seen.kitchen.kitchen.warnings.order_lead)
        yield order.due + _JUST_AFTER
        yield asked_at(seen, order)
    for equipment_id, stop in seen.state.machines.items():
        until = stop.until if stop.until is not None else stop.assumed
        if until is not None and equipment_id in seen.kitchen.equipment:
            yield until
    yield from (stop.start for stop in seen.state.by_hand.stops)
    for fact in seen.facts.values():
        place = seen.kitchen.equipment.get(fact.equipment)
        since = out_since(fact)
        if since is not None and place is not None and place.holds is not None:
            yield since + half_grace(place.holds)
            yield since + timedelta(minutes=place.holds.grace)
        probe = seen.kitchen.probes.get(fact.probe)
        if fact.heard_since is not None and probe is not None:
            yield fact.heard_since + heard_for(probe)
        if fact.silent_since is not None and place is not None and place.store:
            yield from _unseen_instants(seen, place, fact.silent_since)


def _unseen_instants(seen: Look, place: Equipment, since: datetime) -> Iterator[datetime]:
    """When the record of what is in a store has a gap too long to judge."""
    tasks = seen.lots_in(place.id)
    gap = longest_gap(seen.kitchen.kitchen, seen.kitchen, tasks)
    for task in tasks:
        yield unseen_from(seen.state, task, since, gap)
    for lot in on_hand(seen.state, place.id):
        yield max(since, lot.received_at) + gap


def _probe_instants(seen: Look) -> Iterator[datetime]:
    for probe in seen.kitchen.probes:
        due = check_due(seen.state, probe)
        if due is not None:
            yield due


def _jumps(seen: Look) -> Iterator[datetime]:
    """When attended work that time moves along no longer fits before a break or the end of a shift."""
    for task_id, one in tied(seen.plan.plan).items():
        start = seen.live[task_id].start
        if seen.progress.statuses[task_id] is not TaskStatus.WAITING or start <= one.task.start:
            continue
        hours = seen.kitchen.hours.get(one.task.skill or "", ())
        for offset, length in one.portions:
            begins, ends = start + offset, start + offset + length
            if (last := max((e for s, e in hours if s <= begins and ends <= e), default=None)) is not None:
                yield seen.now + (last - ends) + _JUST_AFTER


def _live_risks(seen: Look) -> frozenset[tuple[AlarmId, bool]]:
    """What the passing of time pushes over a limit without any instant named for it."""
    found = {**overdue_conditions(seen), **window_conditions(seen), **order_conditions(seen)}
    return frozenset((alarm, facts.missed) for alarm, facts in found.items())


def _first_change(seen: Look, horizon: datetime) -> datetime:
    """The first second before the horizon at which the live plan foresees something else, or when to look again.

    Where time moves nothing of the live plan, only named instants can change anything. Where it does, a risk may
    come and pass again, so nobody looks too far ahead at once.
    """
    if seen.live == project(seen.state, horizon - _JUST_AFTER):  # it only ever moves later: so nothing moves between
        return horizon
    until = min(horizon, seen.now + _LOOK_AHEAD)
    before = _live_risks(seen)
    same = seen.now
    for part in range(1, _SAMPLES + 1):
        other = seen.now + (until - _JUST_AFTER - seen.now) * part / _SAMPLES
        if _live_risks(_at(seen, other)) != before:
            break
        same = other
    else:
        return until
    while other - same > _RESOLUTION:
        middle = same + (other - same) / 2
        same, other = (middle, other) if _live_risks(_at(seen, middle)) == before else (same, middle)
    whole = other.replace(microsecond=0)  # plans are made in minutes: most changes come on the second
    return whole if same < whole and _live_risks(_at(seen, whole)) != before else other


def _at(seen: Look, now: datetime) -> Look:
    """The same state, looked at later."""
    return replace(seen, now=now, live=project(seen.state, now))
