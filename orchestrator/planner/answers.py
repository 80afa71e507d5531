"""Which function answers which question. Nothing here may load the solver: the quick process answers from here too."""

import time
from collections.abc import Callable, Mapping
from typing import Any

from orchestrator.core.models import PlanAnswer, PlanTerm
from orchestrator.core.models.questions import (
    Answer,
    HelpProgress,
    InstantsQuestion,
    PlanProgress,
    PlanQuestion,
    Question,
    RemediesAnswer,
    RemediesQuestion,
    RiskAnswer,
    RiskQuestion,
    WhatIfQuestion,
    WhyQuestion,
)
from orchestrator.planner.last_instants import last_instants
from orchestrator.planner.plan import make_plan
from orchestrator.planner.problem import Schedule
from orchestrator.planner.remedies import remedies
from orchestrator.planner.what_if import what_if
from orchestrator.planner.why import why

Stop = Callable[[], bool]
"""Asked often while answering; True: end soon with what there is."""
Tell = Callable[[PlanProgress], None]
_TELLS_EVERY_S = 0.25
"""Nobody reads faster."""


def _risk(question: RiskQuestion, stop: Stop) -> RiskAnswer:
    from orchestrator.planner.risk import risk  # numpy and scipy: a repair must not wait for them to load

    told = risk(question.request, question.plan, runs=question.runs, seed=question.seed, stop=stop)
    return RiskAnswer(risk=told)


ANSWERERS: Mapping[type, Callable[[Any, Stop], Answer]] = {
    InstantsQuestion: last_instants,
    RiskQuestion: _risk,
    WhatIfQuestion: what_if,
    WhyQuestion: lambda question, _: why(question.request, question.plan, question.task),
}
"""A line for each question: ``(question, stop) -> answer``. What needs the solver imports it inside its function."""


def never() -> bool:
    """A `Stop` for whoever has time."""
    return False


def unheard(progress: PlanProgress) -> None:
    """A `Tell` for whoever only waits for the end."""


def answer(question: Question, stop: Stop = never, tell: Tell = unheard) -> Answer:
    """Answer a question, whatever it is.

    Args:
        question: Any of `Question`.
        stop: True ends it early.
        tell: Told of each better plan while one is being searched for, and of how far a search for what helps is.

    Raises:
        LookupError: nobody answers such a question.
    """
    if isinstance(question, PlanQuestion):
        return _plan(question, stop, tell)
    if isinstance(question, RemediesQuestion):
        return _remedies(question, stop, tell)
    answerer = ANSWERERS.get(type(question))
    if answerer is None:
        raise LookupError(f"the planner has no answer to {question.kind!r}")
    return answerer(question, stop)


def _plan(question: PlanQuestion, stop: Stop, tell: Tell) -> PlanAnswer:
    began = time.perf_counter()

    def better(schedule: Schedule) -> None:
        terms = tuple(PlanTerm(name=name, stage=stage, value=value) for name, stage, value in schedule.terms)
        tell(PlanProgress(seconds=time.perf_counter() - began, terms=terms))

    return make_plan(question.request, effort=question.effort, seconds=question.seconds, stop=stop, on_better=better)


def _remedies(question: RemediesQuestion, stop: Stop, tell: Tell) -> RemediesAnswer:
    began = time.perf_counter()
    last = [-_TELLS_EVERY_S]

    def told(progress: HelpProgress) -> None:
        seconds = time.perf_counter() - began
        if seconds >= last[0] + _TELLS_EVERY_S or not progress.tried:
            last[0] = seconds
            tell(PlanProgress(seconds=seconds, helps=progress))

    return remedies(question, stop, told)
