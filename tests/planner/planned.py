"""A plan for tests: made as the planner makes it, there, and passed by the checker."""

from orchestrator.core.check import check
from orchestrator.core.models import Plan, PlanRequest
from orchestrator.planner.plan import Effort, make_plan


def planned(request: PlanRequest, effort: Effort = "repair", *, seconds: float = 1.0) -> Plan:
    """The plan of a request that can be planned.

    Args:
        request: What to plan.
        effort: Construction alone, or the search too.
        seconds: Of the solver's own clock, so that the plan repeats.

    Raises:
        AssertionError: there is no plan, or it breaks a rule.
    """
    answer = make_plan(request, effort=effort, seconds=seconds, deterministic=True)
    assert answer.violations == ()
    assert answer.plan is not None
    assert check(answer.plan, request) == ()
    return answer.plan
