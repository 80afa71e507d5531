"""Windows of starts about to be missed or missed; ageing and hardening cut short."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.alarms.look import Look, alarm_id, minutes
from orchestrator.core.alarms.task_facts import task_facts
from orchestrator.core.ids import AlarmId, TaskId
from orchestrator.core.latest import latest_that_keeps
from orchestrator.core.models import PlannedTask, TaskKind, WindowClass
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority
from orchestrator.core.progress import actual_start
from orchestrator.core.state import TaskStatus
from orchestrator.core.windows import Bounds, start_bounds

NARROW: Final = timedelta(minutes=5)
"""Windows narrower than this are steps that follow each other at once."""
HANDLING: Final = timedelta(minutes=2)
"""What hands need between two taps: allowed for where a window is narrow. Common practice, no source."""
OVERDUE: Final = timedelta(minutes=5)
"""People begin a few minutes after the plan says; by more, something is in their way. A figure of ours."""
_MINUTE: Final = timedelta(minutes=1)


def slack(window: Bounds) -> timedelta:
    """How long after ``closes`` a start is still called in time."""
    if window.opens is None or window.closes is None:
        return timedelta(0)
    return HANDLING if window.closes - window.opens < NARROW else timedelta(0)


def lead(window: Bounds, window_lead_min: int) -> timedelta:
    """How long before ``closes`` the clock warns: the kitchen's lead time, at most half the window."""
    if window.opens is None or window.closes is None:
        return minutes(window_lead_min)
    return min(minutes(window_lead_min), max(timedelta(0), window.closes - window.opens) / 2)


def warned_from(window: Bounds, task: PlannedTask, window_lead_min: int) -> datetime | None:
    """From when on the clock alone warns of a task that has not begun.

    A step that the plan starts in time is in normal progress, however near the end of its window: nobody is
    told before its planned start has passed, but always before the miss. Of a safety window people are told by its
    whole lead, whatever the plan says. A step that follows at once is only worth a word when a minute has gone by.
    """
    if window.closes is None:
        return None
    if slack(window):
        return window.closes + slack(window) / 2
    ahead = lead(window, window_lead_min)
    at_last = ahead if window.cls is WindowClass.SAFETY else min(HANDLING, ahead)
    return max(window.closes - ahead, min(task.start + OVERDUE, window.closes - at_last))


def too_late(window: Bounds, expected: datetime) -> bool:
    """Whether a start expected then is a miss worth a word: by a minute when the limit stands fast; by more while
    what sets it is only expected itself, since a few minutes either way are how people work."""
    if window.closes is None:
        return False
    return expected >= window.closes + slack(window) + (_MINUTE if window.firm else OVERDUE)


def window_conditions(look: Look) -> dict[AlarmId, AlarmFacts]:
    """Windows of starts, by the clock, by the live plan and in fact."""
    found: dict[AlarmId, AlarmFacts] = {}
    for task in look.waiting_work():
        window = start_bounds(look.state, task, look.live)
        found.update(_closing(look, task, window))
        found.update(_planned_short(look, task, window))
    for task in look.begun_work():
        found.update(_begun(look, task))
    return found


def held_misses(look: Look) -> dict[AlarmId, AlarmFacts]:
    """Misses on record whose lot waits for a decision, also when a new plan no longer has the task."""
    return {
        alarm.id: alarm.facts
        for alarm in look.state.alarms.values()
        if alarm.facts.kind in {AlarmKind.WINDOW_CLOSING, AlarmKind.TOO_SHORT}
        and alarm.facts.missed
        and look.standing(alarm.id)
        and any(look.on_hold(lot) for lot in alarm.facts.lots)
    }


def _limiting(look: Look, task: PlannedTask, by: TaskId | None) -> PlannedTask:
    return look.plan.tasks.get(by, task) if by is not None else task


def _closing(look: Look, task: PlannedTask, window: Bounds) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    if window.closes is None or window.cls is WindowClass.PREFERENCE:
        return
    closes = window.closes + slack(window)
    missed = window.firm and look.now > closes
    warned = warned_from(window, task, look.kitchen.kitchen.warnings.window_lead)
    near = window.firm and warned is not None and look.now >= warned
    expected = look.live[task.id].start
    if not (missed or near or too_late(window, expected)):
        return
    if missed and look.decided_since((_limiting(look, task, window.closed_by).lot, task.lot), window.closes):
        return
    yield _closing_facts(look, task, window, missed, expected)


def _closing_facts(
    look: Look, task: PlannedTask, window: Bounds, missed: bool, expected: datetime
) -> tuple[AlarmId, AlarmFacts]:
    assert window.closes is not None
    limiting = _limiting(look, task, window.closed_by)
    return task_facts(
        look,
        AlarmKind.WINDOW_CLOSING,
        task,
        limiting=limiting,
        priority=Priority.CRITICAL if missed and window.cls is WindowClass.SAFETY else Priority.WARNING,
        missed=missed,
        since=_since(look, limiting),
        limit_at=window.closes,
        expected_at=expected,
        reason=window.cls or "",
        helps=_window_helps(look, task, missed, window.cls, expected > window.closes),
        save_by=None if missed or not look.advise else _save_window(look, task, window.closes),
    )


def _since(look: Look, limiting: PlannedTask) -> datetime:
    """From when the window's length counts: the start of a stay, the end of other work before."""
    live = look.live[limiting.id]
    return live.start if limiting.kind is TaskKind.STAY else live.end


def _save_window(look: Look, task: PlannedTask, closes: datetime) -> datetime | None:
    return latest_that_keeps(look.state, look.now, task.id, lambda live: live[task.id].start <= closes, closes)


def _window_helps(
    look: Look, task: PlannedTask, missed: bool, cls: WindowClass | None, at_risk: bool
) -> tuple[Help, ...]:
    if missed:
        return (Help.DECIDE_LOT,) if cls is WindowClass.SAFETY else (Help.START_NOW,)
    helps = [Help.START_NOW if look.may_begin(task) else Help.START_BY]
    if look.stopped(task.equipment):
        helps = [Help.REPAIR_BY]
        if has_other_machine(look, task):
            helps.insert(0, Help.USE_OTHER_MACHINE)
    elif at_risk and task.equipment_kind == "churn":
        helps.append(Help.CHURN_FIRST)
    if at_risk and task.attended:
        helps.append(Help.CALL_HANDS)
    return tuple(helps)


def has_other_machine(look: Look, task: PlannedTask) -> bool:
    """Whether another machine of the kind can be used now."""
    kinds = (e for e in look.kitchen.equipment.values() if e.kind == task.equipment_kind and e.id != task.equipment)
    return any(not look.stopped(e.id) for e in kinds)


def _planned_short(look: Look, task: PlannedTask, window: Bounds) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    """The live plan starts a task before its window opens: ageing or hardening will be cut short."""
    expected = look.live[task.id].start
    if window.opens is None or window.opening_cls is None or expected > window.opens - _MINUTE:
        return
    yield _short_facts(look, task, window, missed=False, expected=expected)


def _short_facts(
    look: Look, task: PlannedTask, window: Bounds, missed: bool, expected: datetime
) -> tuple[AlarmId, AlarmFacts]:
    limiting = _limiting(look, task, window.opened_by)
    safety = window.opening_cls is WindowClass.SAFETY
    return task_facts(
        look,
        AlarmKind.TOO_SHORT,
        task,
        limiting=limiting,
        priority=Priority.CRITICAL if missed and safety else Priority.WARNING,
        missed=missed,
        since=look.live[limiting.id].start,
        limit_at=window.opens,
        expected_at=expected,
        reason=window.opening_cls or "",
        helps=((Help.DECIDE_LOT,) if safety else ()) if missed else (Help.WAIT_UNTIL_OPEN,),
    )


def _begun(look: Look, task: PlannedTask) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    """A task that was begun outside its window. What was exceeded is not cured by starting late."""
    begun = actual_start(look.state, task)
    if begun is None or look.state.record(task.id).status is TaskStatus.SKIPPED:
        return
    window = start_bounds(look.state, task, look.live)
    late_id = alarm_id(AlarmKind.WINDOW_CLOSING, task.id)
    if window.closes is not None and window.firm and begun > window.closes + slack(window):
        exceeded = (_limiting(look, task, window.closed_by), window.closes)
        if window.cls is not WindowClass.PREFERENCE and _stays(look, task, late_id, window.cls, exceeded):
            yield _closing_facts(look, task, window, True, begun)
    if window.opens is not None and window.opening_cls is not None and begun < window.opens - HANDLING:
        short_id = alarm_id(AlarmKind.TOO_SHORT, task.id)
        cut = (_limiting(look, task, window.opened_by), begun)
        if _stays(look, task, short_id, window.opening_cls, cut):
            yield _short_facts(look, task, window, True, begun)


def _stays(
    look: Look, task: PlannedTask, alarm: AlarmId, cls: WindowClass | None, decision_from: tuple[PlannedTask, datetime]
) -> bool:
    """Whether a miss on record still needs somebody: safety until the lot was decided; quality until it was
    seen and the task was begun by a named person with a reason (or is over)."""
    limiting, since = decision_from
    if look.decided_since((limiting.lot, task.lot), since):
        return False
    record = look.state.record(task.id)
    explained = bool(record.started_by and record.reason)
    if not look.standing(alarm):
        # Raised anew only while somebody can still act, and never for what a person has answered for.
        return record.status is TaskStatus.IN_HAND and (cls is WindowClass.SAFETY or not explained)
    if cls is WindowClass.SAFETY:
        return True
    return not (look.acknowledged(alarm) and (explained or record.status is TaskStatus.DONE))
