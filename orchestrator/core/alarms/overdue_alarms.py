"""What is overdue: attended work not begun, steps that ran on their own for too long, lots kept too long."""

from collections.abc import Iterator, Mapping
from datetime import datetime

from orchestrator.core.alarms.look import Look, minutes
from orchestrator.core.alarms.target_alarms import longest_end, target_met
from orchestrator.core.alarms.task_facts import task_facts
from orchestrator.core.alarms.window_alarms import lead
from orchestrator.core.ids import AlarmId, OrderId, TaskId
from orchestrator.core.latest import latest_starts, latest_that_keeps
from orchestrator.core.models import PlannedTask, TaskKind, WindowClass
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority
from orchestrator.core.pace import longest_length, usual_length
from orchestrator.core.progress import actual_start
from orchestrator.core.projection import Projected
from orchestrator.core.windows import actual_end, bounds


def overdue_conditions(look: Look) -> dict[AlarmId, AlarmFacts]:
    """Tasks not begun, not ended, and stays that nobody ends."""
    found: dict[AlarmId, AlarmFacts] = {}
    for task in look.waiting_work():
        found.update(_late(look, task))
    for task in look.in_hand():
        if look.gone(task.lot):
            continue
        if task.kind is not TaskKind.STAY:
            found.update(_overrun(look, task))
        elif not look.plan.takers(task.id):
            found.update(_kept_too_long(look, task))
    return found


def _kept_too_long(look: Look, stay: PlannedTask) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    """What no task is going to take comes to the end of its keeping time."""
    window = bounds(look.state, stay)
    if window.closes is None or window.cls is WindowClass.PREFERENCE:
        return
    if look.now < window.closes - lead(window, look.kitchen.kitchen.warnings.window_lead):
        return
    missed = look.now > window.closes
    if missed and look.decided_since((stay.lot,), window.closes):
        return
    yield task_facts(
        look,
        AlarmKind.WINDOW_CLOSING,
        stay,
        priority=Priority.CRITICAL if missed else Priority.WARNING,
        missed=missed,
        since=actual_start(look.state, stay),
        limit_at=window.closes,
        reason=window.cls or "",
        helps=(Help.DECIDE_LOT,),
    )


def overrun_from(look: Look, task: PlannedTask) -> datetime | None:
    """From when on a task in hand has taken too long; where hands are in it all the time, or where its temperature
    says when it is over, people get as long as for a late start before they are asked about it."""
    longest = longest_end(look.state, task)
    if longest is None:
        return None
    step = look.kitchen.step(task)
    hands = any(part.when == "throughout" for part in task.attended)
    waits = hands or (step is not None and step.target is not None)
    return longest + minutes(look.kitchen.kitchen.warnings.late_start) if waits else longest


def overrun_warned_from(look: Look, task: PlannedTask) -> datetime | None:
    """From when on a task in hand on its own is told of before it has taken too long: half-way from its usual end to
    its longest, at most the kitchen's lead time before that. None where the longest itself is only a question."""
    limit, longest = overrun_from(look, task), longest_end(look.state, task)
    if longest is None or limit != longest:
        return None
    to_spare = longest_length(look.state, task) - usual_length(look.state, task)
    return longest - min(minutes(look.kitchen.kitchen.warnings.window_lead), to_spare / 2)


def _overrun(look: Look, task: PlannedTask) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    """It is about to take, or has taken, longer than it may: somebody has to end it, take it out, or add time."""
    limit, longest = overrun_from(look, task), longest_end(look.state, task)
    warned = overrun_warned_from(look, task)
    step = look.kitchen.step(task)
    if limit is None or look.now <= (limit if warned is None else warned):
        return
    if step is not None and step.target is not None and not target_met(look, task, step.target):
        return  # that its temperature is missed is told already
    yield task_facts(
        look,
        AlarmKind.WINDOW_CLOSING,
        task,
        priority=Priority.WARNING,
        missed=warned is not None and look.now > limit,  # where people are at it, or it is warm enough, nothing is lost
        since=actual_start(look.state, task),
        limit_at=longest,
        reason="longest" if look.now > limit else "past usual",
        helps=(Help.CALL_HANDS,),
    )


def late_from(look: Look, task: PlannedTask) -> datetime:
    """From when on a task that has not begun is called late."""
    ended = (actual_end(look.state, link.after) for link in task.links)
    ready = max((end for end in ended if end is not None), default=task.start)
    return max(task.start, ready) + minutes(look.kitchen.kitchen.warnings.late_start)


def _late(look: Look, task: PlannedTask) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    """Attended work that could begin and has not, so long after its planned start and the end of what it waited for."""
    limit = late_from(look, task)
    if not task.attended or look.now < limit or not look.may_begin(task):
        return
    assert look.state.plan is not None
    assert look.state.kitchen is not None
    latest = latest_starts(look.state.plan, look.state.kitchen).get(task.id)
    save_by = None
    if latest is not None and look.advise:
        ready = {o: look.kitchen.orders[o].due for o in look.plan.orders_of(task) if o in look.kitchen.orders}
        save_by = latest_that_keeps(look.state, look.now, task.id, lambda live: in_time(look, live, ready), latest)
    yield task_facts(
        look,
        AlarmKind.TASK_LATE,
        task,
        priority=Priority.NOTICE,
        since=task.start,
        limit_at=limit,
        expected_at=look.live[task.id].start,
        helps=(Help.START_NOW, Help.CALL_HANDS),
        save_by=save_by,
    )


def in_time(look: Look, live: Mapping[TaskId, Projected], due: Mapping[OrderId, datetime]) -> bool:
    """Whether a projection has all steps of these orders over by their due times."""
    for order, limit in due.items():
        for task_id in look.plan.order_tasks.get(order, ()):
            if look.plan.tasks[task_id].kind is not TaskKind.STAY and live[task_id].end > limit:
                return False
    return True
