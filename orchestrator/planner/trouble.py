"""Orders that a plan leaves out, hands over late, or serves with a broken window; and whether a plan mends one."""

from collections.abc import Mapping
from dataclasses import dataclass

from orchestrator.core.ids import OrderId
from orchestrator.core.models import Outlook, Plan, PlanRequest, WindowClass
from orchestrator.core.plan_index import plan_index
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import lateness
from orchestrator.planner.structure import span, structure

Standing = tuple[int, int, int]
"""(1 if not met, quality windows broken on the way to it, minutes late): less is better, the first that differs."""
FINE: Standing = (0, 0, 0)


@dataclass(frozen=True, slots=True)
class Aim:
    """An order that is to be met in time and unbroken, and where all others may stand at worst."""

    order: OrderId
    at_worst: Mapping[OrderId, Standing]

    def reached(self, standings: Mapping[OrderId, Standing]) -> bool:
        """Whether the order stands well and no other that is still wanted is worse off."""
        others = (standings.get(order) for order in self.at_worst if order != self.order)
        limits = (limit for order, limit in self.at_worst.items() if order != self.order)
        fine = standings.get(self.order) == FINE
        return fine and all(s is None or s <= limit for s, limit in zip(others, limits, strict=True))


def standings(plan: Plan, allowed: frozenset[tuple[str, str]] = frozenset()) -> dict[OrderId, Standing]:
    """How a plan serves each order.

    Args:
        plan: The plan.
        allowed: (task, after) of quality breaks that somebody lets be.
    """
    index = plan_index(plan)
    broken: dict[OrderId, int] = {}
    for named in plan.breaks:
        task = index.tasks.get(named.task)
        if named.window is WindowClass.QUALITY and task is not None and (named.task, named.after) not in allowed:
            for order in index.orders_of(task):
                broken[order] = broken.get(order, 0) + 1
    return {o.order: (int(not o.met), broken.get(o.order, 0), o.late_min) for o in plan.outlooks}


def troubled(plan: Plan, request: PlanRequest) -> list[OrderId]:
    """Orders that do not stand well, the weightiest first."""
    weights = {order.id: order.weight for order in request.kitchen.orders}
    bad = [(order, standing) for order, standing in standings(plan).items() if standing != FINE and order in weights]
    return [order for order, s in sorted(bad, key=lambda pair: (-weights[pair[0]], [-n for n in pair[1]], pair[0]))]


def aim_for(order: OrderId, plan: Plan) -> Aim:
    """The order well, all others no worse than the plan has them."""
    return Aim(order, standings(plan))


def schedule_standings(problem: Problem, schedule: Schedule) -> dict[OrderId, Standing]:
    """The same of a schedule; orders that the problem does not ask for are left out."""
    late = lateness(problem, schedule)
    shape = structure(problem)
    broken = [0] * len(problem.dues)
    for window in shape.windows:
        minutes = span(window, schedule.places)
        if window.window is WindowClass.QUALITY and minutes is not None and window.missed_by(minutes) > 0:
            for due in shape.reach[window.job]:
                broken[due] += 1
    return {
        OrderId(due.order): (int(minutes is None), count, minutes or 0)
        for due, minutes, count in zip(problem.dues, late, broken, strict=True)
    }


def wants(outlook: Outlook, standing: Standing) -> str:
    """What an order lacks, in words."""
    if standing[0]:
        return f"{outlook.order} cannot be met"
    if standing[2]:
        return f"{outlook.order} is {standing[2]} min late"
    return f"{outlook.order} is served with {standing[1]} quality windows broken"
