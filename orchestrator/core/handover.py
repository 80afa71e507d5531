"""The hand-over note, made from what happened and from what the plan has next."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.ids import CrewId
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.models.handover import HandoverNote, NoteLine
from orchestrator.core.plan_index import kitchen_index
from orchestrator.core.projection import project
from orchestrator.core.state import LotStatus, State, TaskStatus

AHEAD: Final = timedelta(hours=6)
"""So far the note looks ahead; a figure of ours, most of a shift."""
LONGEST: Final = timedelta(hours=16)
"""Further back it never looks: what was before, the note before had."""


def note_of(state: State, now: datetime, person: CrewId | None = None) -> HandoverNote:
    """The note as it would be put on record now.

    Args:
        state: Everything that is known; with a kitchen.
        now: The present instant.
        person: Who hands over: it then reaches back to the beginning of their shift, else to the last hand-over.
    """
    since, until = _since(state, now, person), now + AHEAD
    tasks = [t for t in state.plan.tasks if t.kind is not TaskKind.STAY] if state.plan is not None else []
    records = [(task, state.record(task.id)) for task in tasks]
    ended = [(t, r) for t, r in records if r.finished_at is not None and since <= r.finished_at <= now]
    in_hand = [(t, r) for t, r in records if r.status is TaskStatus.IN_HAND]
    alarms = sorted(state.alarms.values(), key=lambda alarm: (alarm.raised_at, alarm.id))
    return HandoverNote(
        since=since,
        until=until,
        done=_in_time(_line(state, t, r.finished_at, r.finished_by) for t, r in ended if r.status is TaskStatus.DONE),
        left_out=_in_time(
            _line(state, t, r.finished_at, r.finished_by, r.reason) for t, r in ended if r.status is TaskStatus.SKIPPED
        ),
        in_hand=_in_time(_line(state, t, t.end, r.started_by) for t, r in in_hand),
        alarms=tuple(alarm.facts for alarm in alarms if alarm.standing),
        held=tuple(
            NoteLine(what=lot, at=record.since, reason=record.reason)
            for lot, record in sorted(state.lots.items())
            if record.status is LotStatus.ON_HOLD
        ),
        stopped=_stopped(state),
        deviations=tuple(
            NoteLine(what=one.id, thing=", ".join(one.facts.lots), at=one.opened_at, reason=one.facts.reason)
            for one in state.deviations.values()
            if one.open
        ),
        coming=_coming(state, now, until),
    )


def _since(state: State, now: datetime, person: CrewId | None) -> datetime:
    assert state.kitchen is not None
    shifts = [s for c in state.kitchen.crew if c.id == person for s in c.shifts if s.start <= now]
    mine = max((shift.start for shift in shifts), default=None)
    last = max((one.at for one in state.handovers), default=None)
    if mine is not None and now - mine <= LONGEST:
        return mine
    return max(now - LONGEST, last) if last is not None else now - LONGEST


def _line(state: State, task: PlannedTask, at: datetime | None, who: CrewId | None, reason: str = "") -> NoteLine:
    assert state.kitchen is not None
    known, used = kitchen_index(state.kitchen), state.record(task.id).equipment or task.equipment
    machine = known.equipment.get(used) if used is not None else None
    station = known.stations.get(task.station)
    return NoteLine(
        what=task.title,
        thing=str(task.lot or task.order or ""),
        where=machine.name if machine is not None else station.name if station is not None else "",
        at=at,
        who=(who,) if who is not None else (),
        reason=reason,
    )


def _in_time(lines: Iterable[NoteLine]) -> tuple[NoteLine, ...]:
    return tuple(sorted(lines, key=lambda line: (line.at is None, line.at)))


def _stopped(state: State) -> tuple[NoteLine, ...]:
    assert state.kitchen is not None
    known = kitchen_index(state.kitchen).equipment
    return tuple(
        NoteLine(what=known[machine].name if machine in known else machine, at=stop.until, reason=stop.reason)
        for machine, stop in state.machines.items()
    )


def _coming(state: State, now: datetime, until: datetime) -> tuple[NoteLine, ...]:
    if state.plan is None:
        return ()
    live = project(state, now)
    gone = {lot for lot, record in state.lots.items() if record.status in (LotStatus.DISCARDED, LotStatus.REWORK)}
    lines = []
    for task in state.plan.tasks:
        waits = task.kind is not TaskKind.STAY and state.record(task.id).status is TaskStatus.WAITING
        if waits and task.lot not in gone and live[task.id].start <= until:
            who = tuple(dict.fromkeys(one for span in task.spans for one in span.crew))
            lines.append(_line(state, task, live[task.id].start, None).model_copy(update={"who": who}))
    return _in_time(lines)
