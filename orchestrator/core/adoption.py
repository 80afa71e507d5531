"""Whether a plan may be adopted at once, what it changes for people, and until when somebody may decide."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.check import check
from orchestrator.core.ids import AlarmId, TaskId
from orchestrator.core.models import (
    Actual,
    AttendedSpan,
    Move,
    Outlook,
    Plan,
    PlannedTask,
    PlanRequest,
    TaskKind,
    Violation,
    WindowBreak,
    WindowClass,
)
from orchestrator.core.models.alarm import AlarmKind
from orchestrator.core.moves import differences, first, moves_between, people
from orchestrator.core.plan_index import plan_index
from orchestrator.core.planning import plan_request
from orchestrator.core.projection import project
from orchestrator.core.state import State, TaskStatus

SOON: Final = timedelta(minutes=60)
"""Attended work that starts within this time is not moved without asking."""
LEAST_TO_DECIDE: Final = timedelta(minutes=5)
OWN_DAY: Final = timedelta(hours=2)
"""Work that starts later than this may go to somebody else who is on shift anyway, without asking. That a plan
which changes a person waits is for people's own work: nobody is sent to another task than the one they are getting
ready for. Hours ahead the day's list is not a promise, and a plan that waited for a name to move between two people
at work would leave the kitchen with the worse plan. Who cleans a machine was never anybody's own work: whoever is
there does."""
SETTLES: Final = timedelta(minutes=2)
"""So long after a provisional plan the full one still answers the same question."""
LEAST_MOVE: Final = timedelta(minutes=5)
"""Hands that shift by less are where people expect them."""
_FRESH: Final = SOON
"""A plan is judged as of when it was made for so long: tasks that it begins meanwhile are simply due."""


def stale(state: State, plan: Plan, now: datetime) -> tuple[Plan, tuple[Violation, ...]]:
    """The plan rebased on what has happened since it was made, and how it violates present facts.

    A plan takes seconds to make and a person minutes to read; only what really conflicts makes it stale.
    """
    asof = plan.made_at if timedelta(0) <= now - plan.made_at <= _FRESH else now
    request = plan_request(state, asof)
    rebased = rebase(plan, request)
    return rebased, check(rebased, request)


def still_holds(state: State, now: datetime) -> bool:
    """Whether the present plan can still be worked by: rebased on what has happened, it breaks no rule.

    That somebody wants more, or less, than it was made for is no reason to change at once what people are doing.
    """
    if state.plan is None or state.kitchen is None:
        return False
    as_planned = replace(state, kitchen=state.by_hand.as_planned(state.kitchen))
    return not stale(as_planned, state.plan, now)[1]


def rebase(plan: Plan, request: PlanRequest) -> Plan:
    """The plan with what has happened at its actual times; what has not happened stays where it is."""
    actuals = {actual.task: actual for actual in request.actuals if actual.status != "skipped"}
    tasks = tuple(_rebased(task, actuals[task.id]) if task.id in actuals else task for task in plan.tasks)
    return plan if tasks == plan.tasks else plan.model_copy(update={"tasks": tasks})


def _rebased(task: PlannedTask, actual: Actual) -> PlannedTask:
    # A stay in hand ends when it is taken: that is the plan's to say.
    ends = actual.status == "done" or task.kind is not TaskKind.STAY
    end = actual.end if ends else max(task.end, actual.start)
    place = {"start": actual.start, "end": end, "equipment": actual.equipment or task.equipment}
    return task.model_copy(update={**place, "spans": tuple(_spans(task, actual, end))})


def _spans(task: PlannedTask, actual: Actual, end: datetime) -> Iterator[AttendedSpan]:
    """Hands at the actual start and end, of whoever did it."""
    for span in task.spans:
        begins = actual.start + (span.start - task.start)
        ends = end - (task.end - span.end)
        if span.start == task.start and span.end != task.end:
            ends = min(actual.start + (span.end - span.start), end)
        elif span.start != task.start:
            begins = max(end - (task.end - span.start), actual.start)
        crew = actual.crew if len(actual.crew) == len(span.crew) else span.crew
        if ends > begins:
            yield AttendedSpan(start=begins, end=ends, crew=crew)


def moves(state: State, plan: Plan) -> tuple[Move, ...]:
    """What a plan changes for people, against the adopted one, task by task in order of time, with reasons."""
    if state.plan is None:
        return ()
    return moves_between(state.plan, plan, plan_request(state, plan.made_at))


def same(state: State, plan: Plan) -> bool:
    """Whether a plan places and promises the same as the adopted one."""
    held = state.plan
    if held is None or differences(held, plan, lambda task: state.record(task).status is TaskStatus.WAITING):
        return False
    waiting = [[t for t in p.tasks if state.record(t.id).status is TaskStatus.WAITING] for p in (held, plan)]
    places = [{t.id: (t.start, t.end, t.equipment) for t in tasks} for tasks in waiting]
    promises = [(frozenset(p.pegs), p.batches, _told(p.outlooks), frozenset(p.breaks)) for p in (held, plan)]
    return places[0] == places[1] and promises[0] == promises[1]


def _told(outlooks: tuple[Outlook, ...]) -> frozenset[tuple[object, ...]]:
    return frozenset((o.order, o.met, o.ready_at, o.late_min) for o in outlooks)


def waits_for(state: State, plan: Plan, now: datetime) -> tuple[str, ...]:
    """Why a plan may not be adopted without a named person; empty when it may.

    It waits if it makes an order newly late, newly breaks a quality window, lets go what is held in place, changes who
    does work of the next two hours, or moves attended work that starts within the hour by five minutes or more from
    where it stands by now. While a quick repair is worked by, orders and windows are compared with the last plan that
    was adopted as good: nobody was asked about what the repair gave up.
    """
    if state.plan is None:
        return ()
    hands = () if _unsettled(state, now) and _lateness(plan) < _lateness(state.plan) else _hands(state, plan, now)
    let_go = (f"{task} could not stay where it is held" for task in plan.let_go)
    good = state if state.agreed is None else replace(state, plan=state.agreed)
    return (*_newly_late(good, plan, now), *_newly_broken(good, plan), *let_go, *hands)


def waits_beside_repair(state: State, plan: Plan, now: datetime) -> tuple[str, ...]:
    """The same against the plan that is worked by, be it a quick repair: empty if it makes nothing worse than that."""
    return waits_for(replace(state, agreed=None), plan, now)


def _unsettled(state: State, now: datetime) -> bool:
    """Whether the present plan is a quick repair of minutes ago whose full plan was still to come.

    It was adopted because the one before could not be worked by, whatever it moved. Nobody has turned to it yet:
    when the full plan saves an order that the repair gave up, waiting for a person would keep the worse of two
    changes, and at night there is none to ask.
    """
    return bool(state.replan_reason) and state.adopted_at is not None and now - state.adopted_at <= SETTLES


def _lateness(plan: Plan) -> tuple[int, int]:
    """Orders that cannot be met, then minutes late."""
    return sum(not o.met for o in plan.outlooks), sum(o.late_min for o in plan.outlooks if o.met)


def _newly_late(state: State, plan: Plan, now: datetime) -> Iterator[str]:
    present = {outlook.order: outlook for outlook in state.plan.outlooks} if state.plan is not None else {}
    live = project(state, now)
    index = plan_index(state.plan) if state.plan is not None else None
    due = {order.id: order.due for order in state.kitchen.orders} if state.kitchen is not None else {}
    for outlook in plan.outlooks:
        known = present.get(outlook.order)
        if known is None or (outlook.met and outlook.late_min == 0):
            continue
        ends = [live[t].end for t in (index.order_tasks.get(outlook.order, ()) if index is not None else ())]
        late_already = not known.met or known.late_min > 0 or max(ends, default=now) > due.get(outlook.order, now)
        if not outlook.met and known.met:
            yield f"{outlook.order} can no longer be made"
        elif outlook.met and not late_already:
            yield f"{outlook.order} would be {_in_words(outlook.late_min)} late"


def _in_words(minutes: int) -> str:
    """``45 min``, ``18 h 38 min``: a thousand minutes say nothing to whoever decides."""
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if hours and rest else f"{hours} h" if hours else f"{rest} min"


def _newly_broken(state: State, plan: Plan) -> Iterator[str]:
    present = {_window(named) for named in state.plan.breaks} if state.plan is not None else set()
    allowed: dict[tuple[TaskId, TaskId, str], int] = {
        (a.task, a.after, a.side): a.minutes for a in state.by_hand.allowed()
    }
    for named in plan.breaks:
        if _told_already(state, named.task):
            continue  # the present plan runs into it as well: people have been told, and there is nothing to choose
        if named.minutes <= allowed.get(_window(named), 0):
            continue  # a named person has chosen it, with a reason
        if named.window is WindowClass.QUALITY and _window(named) not in present:
            yield f"{named.task} would be {named.minutes} min {named.side} after {named.after}"


def _told_already(state: State, task: TaskId) -> bool:
    """Whether a standing alarm says that the task will miss its window, or has."""
    alarm = state.alarms.get(AlarmId(f"{AlarmKind.WINDOW_CLOSING}:{task}"))
    if alarm is None or not alarm.standing:
        return False
    expected, limit = alarm.facts.expected_at, alarm.facts.limit_at
    return alarm.facts.missed or (expected is not None and limit is not None and expected > limit)


def _window(named: WindowBreak) -> tuple[TaskId, TaskId, str]:
    return named.task, named.after, named.side


def _hands(state: State, plan: Plan, now: datetime) -> Iterator[str]:
    before = plan_index(state.plan).tasks if state.plan is not None else {}
    after = plan_index(plan).tasks
    live = project(state, now)
    for task_id, planned in before.items():
        if not planned.spans or state.record(task_id).status is not TaskStatus.WAITING:
            continue
        task = after.get(task_id)
        stands = live[task_id].start if task_id in live else planned.start
        near = task is not None and min(stands, task.start) <= now + OWN_DAY
        if task is not None and near and planned.kind is not TaskKind.CLEAN and people(task) != people(planned):
            yield f"{planned.title} ({task_id}) would be done by other people"
        # What should have begun since the plan was made is due now.
        new = max(task.start, now) if task is not None else None
        if stands <= now + SOON and (new is None or abs(new - stands) >= LEAST_MOVE):
            yield f"{planned.title} ({task_id}) starts within the hour and would be moved"
        elif new is not None and new <= now + SOON < stands:
            yield f"{planned.title} ({task_id}) would start within the hour"


def decide_by(made: tuple[Move, ...], now: datetime) -> datetime:
    """Until when a person may decide: the first start that would be moved, 5 to 60 minutes from now."""
    soonest = min((first(move) for move in made), default=now + SOON)
    return min(max(soonest, now + LEAST_TO_DECIDE), now + SOON)
