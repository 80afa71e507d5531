"""Which function answers which question. Nothing here may load the solver: the quick process answers from here too."""

from collections.abc import Callable, Mapping
from typing import Any

from orchestrator.core.models import PlanAnswer
from orchestrator.core.models.questions import Answer, PlanQuestion, Question
from orchestrator.planner.plan import make_plan

Stop = Callable[[], bool]
"""Asked often while answering; True: end soon with what there is."""


def _plan(question: PlanQuestion, stop: Stop) -> PlanAnswer:
    return make_plan(question.request, effort=question.effort, seconds=question.seconds)


ANSWERERS: Mapping[type, Callable[[Any, Stop], Answer]] = {
    PlanQuestion: _plan,
}
"""A line for each question: ``(question, stop) -> answer``. What needs the solver imports it inside its function."""


def never() -> bool:
    """A `Stop` for whoever has time."""
    return False


def answer(question: Question, stop: Stop = never) -> Answer:
    """Answer a question, whatever it is.

    Args:
        question: Any of `Question`.
        stop: True ends it early.

    Raises:
        LookupError: nobody answers such a question.
    """
    answerer = ANSWERERS.get(type(question))
    if answerer is None:
        raise LookupError(f"the planner has no answer to {question.kind!r}")
    return answerer(question, stop)
