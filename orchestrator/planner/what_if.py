"""What would the plan be if ...? Scenarios planned from the present plan, checked, and compared; nothing is adopted."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from orchestrator.core.changes import apply
from orchestrator.core.errors import Refusal
from orchestrator.core.models import Plan, PlanRequest
from orchestrator.core.models.outcome import Outcome, comparison
from orchestrator.core.models.questions import Scenario, WhatIfAnswer, WhatIfQuestion
from orchestrator.core.moves import moves_between
from orchestrator.planner.plan import REPAIR_S, make_plan
from orchestrator.planner.problem import Schedule

PRESENT = "present plan"
_NOTHING = "no change"
_STOPPED = "it was stopped before it was planned"
Tell = Callable[[str, Schedule], None]
"""Told of each better plan, and of which scenario it is."""


def untold(name: str, schedule: Schedule) -> None:
    """A `Tell` for whoever only waits for the end."""


def what_if(
    question: WhatIfQuestion,
    stop: Callable[[], bool],
    *,
    seed: int = 0,
    deterministic: bool = False,
    tell: Tell = untold,
    quick_rest: bool = False,
) -> WhatIfAnswer:
    """Plan every scenario from the same present plan, and compare.

    Args:
        question: Request, scenarios, and seconds for all of them together. The request's previous plan is the
            present one; without any, a plan without changes is made first.
        stop: True ends it soon: what is left gets no plan.
        seed: Of the search.
        deterministic: Same question and seed, same answer.
        tell: Told of each better plan while one is searched for.
        quick_rest: Once stopped, scenarios that were not begun get quick plans, so that all can be compared.

    Returns:
        The present plan and one outcome a scenario, in order, and all of them in one table.
    """
    began = time.perf_counter()
    manner = Manner(stop, seed, deterministic, tell, quick_rest)
    request = question.request
    shares = len(question.scenarios) + (request.previous is None)
    base = present_plan(request, question.seconds / shares, manner)
    present = base.plan
    if present is None:
        return WhatIfAnswer(base=base, scenarios=(), table=comparison((base,)))
    request = request.model_copy(update={"previous": present})
    found: list[Outcome] = []
    for scenario in question.scenarios:
        # What one scenario leaves over of its time the others may use.
        left = question.seconds - (0.0 if deterministic else time.perf_counter() - began)
        share = question.seconds / shares if deterministic else left / (len(question.scenarios) - len(found))
        found.append(manner.outcome(request, present, scenario, share))
    return WhatIfAnswer(base=base, scenarios=tuple(found), table=comparison((base, *found)))


@dataclass(frozen=True, slots=True)
class Manner:
    """How scenarios are planned."""

    stop: Callable[[], bool] = lambda: False
    seed: int = 0
    deterministic: bool = False
    tell: Tell = untold
    quick_rest: bool = False

    def plan(self, request: PlanRequest, seconds: float, name: str) -> tuple[Plan | None, tuple[str, ...], bool]:
        """A checked plan; a quick one when there is no time for another."""
        stopped = self.stop()
        if stopped and not self.quick_rest:
            return None, (_STOPPED,), False
        full = seconds > 0 and not stopped
        answer = make_plan(
            request,
            effort="full" if full else "repair",
            seconds=seconds if full else REPAIR_S,
            seed=self.seed,
            deterministic=self.deterministic,
            stop=self.stop,
            on_better=partial(self.tell, name),
        )
        return answer.plan, answer.violations, not self.stop()

    def outcome(self, request: PlanRequest, present: Plan, scenario: Scenario, seconds: float) -> Outcome:
        """What comes of one scenario."""
        says = tuple(change.says(request.kitchen) for change in scenario.changes)
        outcome = Outcome(name=scenario.name, changes=scenario.changes, says=says or (_NOTHING,))
        changed = apply(request, scenario.changes)
        if isinstance(changed, Refusal):
            return outcome.model_copy(update={"refused": changed})
        plan, violations, complete = self.plan(changed, seconds, scenario.name)
        if plan is None:
            return outcome.model_copy(update={"violations": violations, "complete": complete})
        moves = moves_between(present, plan, changed, request.kitchen)
        return _told(outcome, plan).model_copy(update={"moves": moves, "complete": complete})


def present_plan(request: PlanRequest, seconds: float, manner: Manner | None = None) -> Outcome:
    """The plan that scenarios start from: the adopted one, else one made in so many seconds."""
    if request.previous is not None:
        return _told(Outcome(name=PRESENT, says=(_NOTHING,)), request.previous)
    plan, violations, complete = (manner or Manner()).plan(request, seconds, PRESENT)
    base = Outcome(name=PRESENT, says=(_NOTHING,), violations=violations, complete=complete)
    return base if plan is None else _told(base, plan)


def _told(outcome: Outcome, plan: Plan) -> Outcome:
    told = {"plan": plan, "outlooks": plan.outlooks, "breaks": plan.breaks, "terms": plan.terms}
    return outcome.model_copy(update=told)
