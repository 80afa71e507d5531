"""A schedule becomes a plan again: tasks with instants, people and windows, clean-downs, outlooks, breaks."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from math import ceil

from orchestrator.core.ids import OrderId, TaskId
from orchestrator.core.models import (
    Actual,
    AttendedSpan,
    Life,
    Order,
    Outlook,
    Plan,
    PlannedTask,
    PlanRequest,
    PlanTerm,
    Stay,
    TaskKind,
    TaskLink,
    TaskSpec,
    WindowBreak,
    WindowClass,
)
from orchestrator.planner.demand import Demand
from orchestrator.planner.explain import why_break, why_late
from orchestrator.planner.indices import hundredths
from orchestrator.planner.lots import actuals_of
from orchestrator.planner.problem import CleanDown, Place, Problem, Schedule, minutes_on
from orchestrator.planner.structure import portion_span
from orchestrator.planner.upkeep_tasks import upkeep_task

_NO_REASON: Mapping[OrderId, str] = {}


def assemble(
    request: PlanRequest,
    demand: Demand,
    problem: Problem,
    schedule: Schedule,
    *,
    unmet: Mapping[OrderId, str] = _NO_REASON,
) -> Plan:
    """Put a schedule back into instants and names.

    Args:
        request: What was asked; all its orders get an outlook.
        demand: Batches, pegs and tasks; spec i is job i of the problem.
        problem: What `pose` made of them.
        schedule: A place for every job.
        unmet: Orders left out of the demand, and why.

    Returns:
        A plan. It has not been checked.
    """
    writer = _Writer(request, demand, problem, schedule)
    tasks = writer.tasks()
    lacking = {**{u.order: u.reason for u in demand.unmet}, **unmet}
    return Plan(
        made_at=request.now,
        start=problem.origin,
        end=writer.instant(problem.horizon),
        batches=demand.batches,
        pegs=demand.pegs,
        tasks=tasks,
        outlooks=tuple(_outlook(writer, tasks, order, lacking) for order in request.kitchen.orders),
        breaks=tuple(_breaks(writer, tasks)),
        terms=tuple(PlanTerm(name=name, value=value, stage=stage) for name, stage, value in schedule.terms),
        method=schedule.method,
    )


class _Writer:
    """Minutes to instants, indices to ids."""

    def __init__(self, request: PlanRequest, demand: Demand, problem: Problem, schedule: Schedule) -> None:
        self.request, self.demand, self.problem, self.schedule = request, demand, problem, schedule
        self.actuals = actuals_of(request)
        before = request.previous.tasks if request.previous is not None else ()
        self.previous = {task.id: task for task in before}
        self.held = {task.id for task in before if task.held_in_place}

    def instant(self, minute: int) -> datetime:
        return self.problem.origin + timedelta(minutes=minute)

    def tasks(self) -> tuple[PlannedTask, ...]:
        """All placed tasks with their clean-downs, in order of their start."""
        placed: dict[TaskId, PlannedTask] = {}
        for index, spec in enumerate(self.demand.specs):
            place = self.schedule.places[index]
            if place is not None:
                placed[spec.id] = self._task(index, spec, place)
        for clean in self.schedule.cleans:
            task = upkeep_task(self.request, self.demand, self.problem, clean, placed)
            run = self._run_after(clean, placed)
            if run is not None:
                placed[run.id] = run.model_copy(update={"links": (*run.links, TaskLink(after=task.id))})
            placed[task.id] = task
        with_windows = (self._with_window(task, placed) for task in placed.values())
        return tuple(sorted(with_windows, key=lambda task: (task.start, task.end, task.id)))

    def _run_after(self, clean: CleanDown, placed: Mapping[TaskId, PlannedTask]) -> PlannedTask | None:
        """The run that waits for it: the one it prepares; after a day-end clean, the next on the machine if any."""
        if clean.kind != "day-end":
            return placed[self.demand.specs[clean.before].id]
        machine, end = self.request.kitchen.equipment[clean.machine].id, self.instant(clean.end)
        runs = (
            task
            for task in placed.values()
            if task.equipment == machine and task.kind is TaskKind.WORK and task.start >= end
        )
        return min(runs, key=lambda task: task.start, default=None)

    def _task(self, index: int, spec: TaskSpec, place: Place) -> PlannedTask:
        start, end = self._times(spec, place)
        job = self.problem.jobs[index]
        spans = []
        for portion, workers in enumerate(place.workers):
            since, until = portion_span(job, portion, place)
            if until > since and workers:
                spans.append(self._span(max(self.instant(since), start), min(self.instant(until), end), workers))
        machine = None if place.machine is None else self.request.kitchen.equipment[place.machine].id
        # Its figures are the spec's, which was checked when it was made, and our own arithmetic.
        return PlannedTask.trusted(
            **_fields(spec),
            equipment=machine,
            start=start,
            end=end,
            spans=tuple(span for span in spans if span.end > span.start),
            opens=None,
            closes=None,
            closing_class=None,
            held_in_place=spec.id in self.held,
            crowded=self._crowded(index, spec, place),
        )

    def _crowded(self, index: int, spec: TaskSpec, place: Place) -> float:
        """What the usual minutes are multiplied by; what has begun keeps what it began with."""
        job = self.problem.jobs[index]
        if job.fixed is not None:
            before = self.previous.get(spec.id)
            return before.crowded if before is not None else 1.0
        heat = None if place.machine is None else self.request.kitchen.equipment[place.machine].heat
        if heat is None or job.stay or place.machine is None or place.machine not in job.machines:
            return 1.0
        too_much = job.load > hundredths(heat.alone.value)
        return heat.crowded if too_much or place.end - place.start > minutes_on(job, place.machine) else 1.0

    def _times(self, spec: TaskSpec, place: Place) -> tuple[datetime, datetime]:
        """Facts keep their seconds."""
        actual: Actual | None = self.actuals.get(spec.id)
        start, end = self.instant(place.start), self.instant(place.end)
        if actual is None:
            return start, end
        if actual.status != "in hand":
            return actual.start, actual.end
        return actual.start, max(end, actual.start)

    def _span(self, start: datetime, end: datetime, workers: tuple[int, ...]) -> AttendedSpan:
        crew = tuple(self.request.kitchen.crew[worker].id for worker in workers)
        return AttendedSpan.trusted(start=start, end=end, crew=crew)

    def _with_window(self, task: PlannedTask, placed: Mapping[TaskId, PlannedTask]) -> PlannedTask:
        opens: datetime | None = None
        closes: tuple[datetime, WindowClass] | None = None
        for link in task.links:
            before = placed.get(link.after)
            if before is None:
                continue
            first, latest = _allowed(task, link, before)
            opens = first if opens is None else max(opens, first)
            if latest is not None and (closes is None or latest[0] < closes[0]):
                closes = latest
        for life in task.lives:
            end = self._life_ends(life, placed)
            if end is not None and (closes is None or end < closes[0]):
                closes = end, WindowClass.SAFETY
        shut = closes if closes is not None else (None, None)
        return task.model_copy(update={"opens": opens, "closes": shut[0], "closing_class": shut[1]})

    def _life_ends(self, life: Life, placed: Mapping[TaskId, PlannedTask]) -> datetime | None:
        made = placed.get(life.after) if life.after is not None else None
        return life.until if made is None or life.most is None else made.end + _minutes(life.most)


def _fields(spec: TaskSpec) -> dict[str, object]:
    return {name: getattr(spec, name) for name in TaskSpec.model_fields}


def _minutes(count: int) -> timedelta:
    return timedelta(minutes=count)


def _allowed(
    task: PlannedTask, link: TaskLink, before: PlannedTask
) -> tuple[datetime, tuple[datetime, WindowClass] | None]:
    """Earliest and latest start by one link; the consumer of a stay is bound by the stay's length."""
    joined = link.most == 0 and before.stay is not None
    if joined and before.stay is not None:
        stay: Stay = before.stay
        closes = None if stay.most is None else (before.start + _minutes(stay.most), stay.window)
        return before.start + _minutes(stay.least), closes
    if task.kind is TaskKind.STAY:
        return before.end, None
    latest = None if link.most is None else (before.end + _minutes(link.most), link.window)
    return before.end + _minutes(link.least), latest


def _outlook(writer: _Writer, tasks: tuple[PlannedTask, ...], order: Order, lacking: Mapping[OrderId, str]) -> Outlook:
    due = next((d for d in writer.problem.dues if d.order == order.id), None)
    places = [writer.schedule.places[job] for job in due.jobs] if due is not None else [None]
    own = [task.end for task in tasks if task.order == order.id and task.kind is TaskKind.WORK]
    if order.id in lacking or None in places or not own:
        reason = lacking.get(order.id) or "it finds no place within the horizon and the safety windows"
        return Outlook(order=order.id, met=False, ready_at=None, late_min=0, margin_min=0, reason=reason)
    ready = max(own)
    off = (ready - order.due).total_seconds() / 60
    late = max(0, ceil(off))
    reason = why_late(writer.request, writer.demand, writer.problem, writer.schedule, order.id) if late else ""
    return Outlook(order=order.id, met=True, ready_at=ready, late_min=late, margin_min=max(0, int(-off)), reason=reason)


def _breaks(writer: _Writer, tasks: tuple[PlannedTask, ...]) -> Iterable[WindowBreak]:
    """Quality windows that the plan misses, as far as it can still decide about them."""
    placed = {task.id: task for task in tasks}
    happened = set(writer.actuals)
    for task in tasks:
        for link in task.links:
            before = placed.get(link.after)
            if before is None or (task.id in happened and before.id in happened):
                continue
            joined = TaskKind.STAY in (task.kind, before.kind) and link.most == 0
            if joined and before.stay is not None and task.kind is not TaskKind.STAY:
                stay = before.stay
                missed = _missed(before.end - before.start, stay.least, stay.most)
                window = stay.window
            elif not joined:
                missed, window = _missed(task.start - before.end, link.least, link.most), link.window
            else:
                continue
            if missed is not None and window is WindowClass.QUALITY:
                side, by = missed
                asked = (writer.request, writer.demand, writer.problem, writer.schedule)
                reason = why_break(*asked, task=task, before=before, side=side)
                yield WindowBreak.model_validate(
                    {
                        "task": task.id,
                        "after": before.id,
                        "window": window,
                        "minutes": by,
                        "side": side,
                        "reason": reason,
                    }
                )


def _missed(span: timedelta, least: int, most: int | None) -> tuple[str, int] | None:
    minutes = round(span.total_seconds() / 60)
    if minutes < least:
        return "too early", least - minutes
    if most is not None and minutes > most:
        return "too late", minutes - most
    return None
