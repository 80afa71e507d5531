"""A plan as the planner sees it, and what holds those of its tasks that the planner would not place anew."""

from dataclasses import dataclass, replace
from datetime import timedelta

from orchestrator.core.check import check
from orchestrator.core.models import Plan, PlannedTask, PlanRequest, TaskKind
from orchestrator.core.models.explanation import Hold, HoldKind, WhyNot
from orchestrator.core.models.questions import WhyAnswer
from orchestrator.planner.demand import Demand, explode
from orchestrator.planner.pose import pose
from orchestrator.planner.problem import Place, Problem, Schedule
from orchestrator.planner.structure import fixed_place

MOST_SAID = 4
"""Reasons for one side; more would not be read."""


@dataclass(frozen=True, slots=True)
class Posed:
    """A plan as the planner sees it: the question, and a place for every job."""

    request: PlanRequest
    plan: Plan
    demand: Demand
    problem: Problem
    schedule: Schedule


def posed_plan(request: PlanRequest, plan: Plan) -> Posed:
    """A plan in whole minutes and indices.

    Args:
        request: Kitchen and facts; its previous plan does not matter.
        plan: The plan that is asked about.

    Returns:
        The schedule that the plan is; jobs that it leaves out have no place.
    """
    asked = request.model_copy(update={"previous": plan})
    demand = explode(asked)
    problem = pose(asked, demand)
    pairs = zip(problem.jobs, problem.previous, strict=True)
    places: tuple[Place | None, ...] = tuple(fixed_place(job) or before for job, before in pairs)
    schedule = Schedule(places, tuple(problem.cleans_before), plan.method)
    # Against itself a plan moves nothing: what a move would cost by being one is no reason for a place.
    return Posed(asked, plan, demand, replace(problem, previous=(), cleans_before=()), schedule)


def unplaced(at: Posed, planned: PlannedTask) -> WhyAnswer:
    """Neither work nor a clean-down that the planner would place anew: over, wanted no more, or upkeep of a machine."""
    begun = {actual.task for actual in at.request.actuals}
    if planned.kind is TaskKind.CLEAN and planned.id not in begun and planned.start >= at.request.now:
        earlier, later = (_upkeep(at, planned, minutes) for minutes in (-1, 1))
        return WhyAnswer(task=planned.id, earlier=earlier, later=later)
    over = planned.id in begun or planned.end <= at.request.now
    says = "it has begun: what has happened is not moved" if over else "a new plan leaves it out: nothing waits for it"
    hold = Hold(kind=HoldKind.BEGUN, says=says, task=planned.id)
    return WhyAnswer(task=planned.id, earlier=WhyNot(holds=(hold,)), later=WhyNot(holds=(hold,)))


def _upkeep(at: Posed, planned: PlannedTask, minutes: int) -> WhyNot:
    """By the checker alone: what it says of the plan with that task a minute off."""
    by = timedelta(minutes=minutes)
    spans = tuple(s.model_copy(update={"start": s.start + by, "end": s.end + by}) for s in planned.spans)
    off = planned.model_copy(update={"start": planned.start + by, "end": planned.end + by, "spans": spans})
    tasks = tuple(off if task.id == planned.id else task for task in at.plan.tasks)
    known = check(at.plan, at.request)
    new = [v for v in check(at.plan.model_copy(update={"tasks": tasks}), at.request) if v not in known]
    holds = tuple(
        Hold(kind=HoldKind.RULE, says=v.says, task=planned.id, tasks=v.tasks, goal=v.rule) for v in new[:MOST_SAID]
    )
    says = "nothing holds it: a minute off would keep every rule"
    return WhyNot(holds=holds or (Hold(kind=HoldKind.FREE, says=says, task=planned.id),))
