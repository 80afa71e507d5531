"""What could help an order, derived from what is in conflict: each offer is a ladder, cheapest rung first."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from orchestrator.core.ids import CrewId, RecipeId
from orchestrator.core.models import CrewMember, Order, Plan, PlannedTask, PlanRequest, TaskKind, WindowClass
from orchestrator.core.models.change import AllowBreak, Change, ChangeOrder, SmallerBatch
from orchestrator.core.models.change_crew import ExtraShift, StartEarlier
from orchestrator.core.models.remedy import Conflict, PartKind, RemedyKind
from orchestrator.core.plan_index import plan_index
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.planner.remedy_offer import Offer
from orchestrator.planner.remedy_short import as_far_as_it_goes

_STEP_MIN, _MOST_MIN = 30, 240
"""Crew stay longer, or come sooner, by half hours, up to four hours."""
_DUE_STEP_MIN = 5
_MOST_RUNGS = 48
"""The longer a hand-over must be put off, the coarser the steps in which it is tried."""
_LEAST_SHARE = 4
"""No less than a quarter of what was ordered is offered."""


def offers(request: PlanRequest, plan: Plan, conflict: Conflict) -> list[Offer]:
    """Ways that take hold of what is in conflict.

    Args:
        request: What was asked.
        plan: The present plan.
        conflict: What stands against an order.

    Returns:
        Crew longer, sooner or called in where a person-day is in conflict; quality breaks where a window is; less of
        each product, and a later hand-over, in any case.
    """
    order = next(o for o in request.kitchen.orders if o.id == conflict.order)
    found: list[Offer] = []
    for part in conflict.parts:
        if part.kind is PartKind.SHIFT:
            who, day = part.thing.rsplit(" ", 1)
            found += _crew(request, CrewId(who), date.fromisoformat(day), order)
        elif part.kind is PartKind.WINDOW:
            found += _breaks(plan, conflict, part.thing)
        elif part.kind is PartKind.SUPPLY:
            found += as_far_as_it_goes(request, plan, order, part.thing)
    return [*found, *_less(order), *_later(request, plan, order)]


# More crew at an hour, an earlier start


def _crew(request: PlanRequest, who: CrewId, day: date, order: Order) -> Iterator[Offer]:
    kitchen = request.kitchen
    member = next(m for m in kitchen.crew if m.id == who)
    mine = sorted((s for s in member.shifts if kitchen.local(s.start).date() == day), key=lambda s: s.start)
    if not mine:
        yield from _called_in(request, member, day, order)
        return
    rungs = [timedelta(minutes=m) for m in range(_STEP_MIN, _MOST_MIN + 1, _STEP_MIN)]
    first, last = mine[0].start, mine[-1].end
    sooner = tuple(
        (StartEarlier(crew=who, start=first - by),) for by in rungs if _free(member, first - by, first, request.now)
    )
    longer = tuple(
        (ExtraShift(crew=who, start=last, end=last + by),)
        for by in rungs
        if _free(member, last, last + by, request.now)
    )
    if sooner:
        yield Offer(RemedyKind.EARLIER, sooner)
    if longer and last < order.due:
        yield Offer(RemedyKind.CREW, longer)


def _free(member: CrewMember, start: datetime, end: datetime, now: datetime) -> bool:
    """Whether no other shift lies there, and it has not passed."""
    return start >= now and all(s.end <= start or s.start >= end for s in member.shifts)


def _called_in(request: PlanRequest, member: CrewMember, day: date, order: Order) -> Iterator[Offer]:
    """Somebody who is not there that day comes at the hours of their other days, or in the hours before the due one."""
    kitchen = request.kitchen
    begins: dict[datetime, None] = {}
    for shift in member.shifts:
        local = kitchen.local(shift.start)
        begins[local.replace(year=day.year, month=day.month, day=day.day).astimezone(request.now.tzinfo)] = None
    if kitchen.local(order.due).date() == day:
        begins[order.due - timedelta(minutes=_MOST_MIN)] = None
    for start in list(begins)[-2:]:
        ends = [start + timedelta(minutes=m) for m in (60, 120, 180, _MOST_MIN, 2 * _MOST_MIN)]
        rungs = tuple(
            (ExtraShift(crew=member.id, start=start, end=end),)
            for end in ends
            if _free(member, start, end, request.now) and end <= kitchen.planned_until
        )
        if rungs:
            yield Offer(RemedyKind.CREW, rungs)


# A named quality break


def _breaks(plan: Plan, conflict: Conflict, thing: str) -> Iterator[Offer]:
    """The window of a step may be missed for whatever of it the order takes, by up to half of its least or most."""
    recipe, step = thing.split(".", 1)
    index = plan_index(plan)
    mine = [t for t in plan.tasks if (t.recipe, t.step) == (recipe, step) and conflict.order in index.orders_of(t)]
    pairs = [pair for task in mine for pair in _quality_pairs(plan, task)]
    for side in ("too early", "too late"):
        bounds = [least if side == "too early" else most for _, _, least, most in pairs]
        most_min = min((bound for bound in bounds if bound), default=0) // 2
        rungs = tuple(
            tuple(
                AllowBreak.model_validate({"task": task, "after": after, "side": side, "minutes": minutes})
                for task, after, least, most in pairs
                if (least if side == "too early" else most)
            )
            for minutes in range(_STEP_MIN, most_min + 1, _STEP_MIN)
        )
        if rungs:
            yield Offer(RemedyKind.BREAK, rungs)


def _quality_pairs(plan: Plan, task: PlannedTask) -> Iterator[tuple[str, str, int, int]]:
    """(task, what it follows, least, most) of the quality windows of a stay's taker, or of a task's own links."""
    if task.kind is TaskKind.STAY and task.stay is not None and task.stay.window is WindowClass.QUALITY:
        for taker, link in plan_index(plan).followers.get(task.id, ()):
            if link.most == 0:
                yield taker, task.id, task.stay.least, task.stay.most or 0
    elif task.kind is TaskKind.WORK:
        for link in task.links:
            if link.window is WindowClass.QUALITY and (link.least or link.most):
                yield task.id, link.after, link.least, link.most or 0


# Less, later


def _less(order: Order) -> Iterator[Offer]:
    for product in dict.fromkeys(line.product for line in order.lines):
        mine = [line.quantity for line in order.lines if line.product == product]
        total, unit = sum(quantity.value for quantity in mine), mine[0].unit
        step = _portion(unit)
        sizes = [n * step for n in range(int(total // step), 0, -1)]
        fitting = [size for size in sizes if total / _LEAST_SHARE <= size < total]
        # A few rungs are enough: what one portion more would do is found by the next plan.
        chosen = fitting[:: max(1, len(fitting) // 6)]
        if chosen:
            yield Offer(RemedyKind.SMALLER, tuple((_smaller(order, product, size, unit),) for size in chosen))


def _portion(unit: Unit) -> float:
    return 5.0 if unit in (Unit.EACH, Unit.TRAY) else 0.5


def _smaller(order: Order, product: RecipeId, size: float, unit: Unit) -> Change:
    return SmallerBatch(order=order.id, product=product, quantity=Quantity(value=size, unit=unit))


def _later(request: PlanRequest, plan: Plan, order: Order) -> Iterator[Offer]:
    """From just after it is due to when the plan has it ready; to the end of the planned days if it has not."""
    outlook = next((o for o in plan.outlooks if o.order == order.id), None)
    end = outlook.ready_at if outlook is not None and outlook.ready_at is not None else request.kitchen.planned_until
    span = int((end - order.due).total_seconds() // 60)
    step = _DUE_STEP_MIN * max(1, span // (_DUE_STEP_MIN * _MOST_RUNGS))
    dues = [order.due + timedelta(minutes=m) for m in range(step, span + step, step)]
    rungs = tuple((ChangeOrder(order=order.id, due=due),) for due in dues if due <= request.kitchen.planned_until)
    if rungs:
        yield Offer(RemedyKind.LATER, rungs)
