"""What would the plan be if ...? Scenarios planned from the present plan, checked, and compared; nothing is adopted."""

import time
from collections.abc import Callable

from orchestrator.core.changes import apply
from orchestrator.core.errors import Refusal
from orchestrator.core.models import Plan, PlanRequest
from orchestrator.core.models.outcome import Outcome, comparison
from orchestrator.core.models.questions import Scenario, WhatIfAnswer, WhatIfQuestion
from orchestrator.core.moves import moves_between
from orchestrator.planner.plan import make_plan

PRESENT = "present plan"
_NOTHING = "no change"
_STOPPED = "it was stopped before it was planned"


def what_if(
    question: WhatIfQuestion, stop: Callable[[], bool], *, seed: int = 0, deterministic: bool = False
) -> WhatIfAnswer:
    """Plan every scenario from the same present plan, and compare.

    Args:
        question: Request, scenarios, and seconds for all of them together. The request's previous plan is the
            present one; without any, a plan without changes is made first.
        stop: True ends it soon: what is left gets no plan.
        seed: Of the search.
        deterministic: Same question and seed, same answer.

    Returns:
        The present plan and one outcome a scenario, in order, and all of them in one table.
    """
    began = time.perf_counter()
    planner = _Planner(stop, seed, deterministic)
    request = question.request
    shares = len(question.scenarios) + (request.previous is None)
    base = present_plan(request, question.seconds / shares, planner)
    present = base.plan
    if present is None:
        return WhatIfAnswer(base=base, scenarios=(), table=comparison((base,)))
    request = request.model_copy(update={"previous": present})
    found: list[Outcome] = []
    for scenario in question.scenarios:
        # What one scenario leaves over of its time the others may use.
        left = question.seconds - (0.0 if deterministic else time.perf_counter() - began)
        share = question.seconds / shares if deterministic else left / (len(question.scenarios) - len(found))
        found.append(planner.outcome(request, present, scenario, share))
    return WhatIfAnswer(base=base, scenarios=tuple(found), table=comparison((base, *found)))


def present_plan(request: PlanRequest, seconds: float, planner: "_Planner | None" = None) -> Outcome:
    """The plan that scenarios start from: the adopted one, else one made in so many seconds."""
    if request.previous is not None:
        return _told(Outcome(name=PRESENT, says=(_NOTHING,)), request.previous)
    plan, violations, complete = (planner or _Planner(lambda: False, 0, False)).plan(request, seconds)
    base = Outcome(name=PRESENT, says=(_NOTHING,), violations=violations, complete=complete)
    return base if plan is None else _told(base, plan)


class _Planner:
    def __init__(self, stop: Callable[[], bool], seed: int, deterministic: bool) -> None:
        self.stop, self.seed, self.deterministic = stop, seed, deterministic

    def plan(self, request: PlanRequest, seconds: float) -> tuple[Plan | None, tuple[str, ...], bool]:
        """A checked plan; a quick one when there is no time for another."""
        if self.stop():
            return None, (_STOPPED,), False
        full = seconds > 0
        answer = make_plan(
            request,
            effort="full" if full else "repair",
            seconds=max(0.0, seconds),
            seed=self.seed,
            deterministic=self.deterministic,
            stop=self.stop,
        )
        return answer.plan, answer.violations, not self.stop()

    def outcome(self, request: PlanRequest, present: Plan, scenario: Scenario, seconds: float) -> Outcome:
        """What comes of one scenario."""
        says = tuple(change.says(request.kitchen) for change in scenario.changes)
        outcome = Outcome(name=scenario.name, changes=scenario.changes, says=says or (_NOTHING,))
        changed = apply(request, scenario.changes)
        if isinstance(changed, Refusal):
            return outcome.model_copy(update={"refused": changed})
        plan, violations, complete = self.plan(changed, seconds)
        if plan is None:
            return outcome.model_copy(update={"violations": violations, "complete": complete})
        moves = moves_between(present, plan, changed, request.kitchen)
        return _told(outcome, plan).model_copy(update={"moves": moves, "complete": complete})


def _told(outcome: Outcome, plan: Plan) -> Outcome:
    told = {"plan": plan, "outlooks": plan.outlooks, "breaks": plan.breaks, "terms": plan.terms}
    return outcome.model_copy(update=told)
