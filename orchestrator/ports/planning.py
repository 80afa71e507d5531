"""The planner as the engine sees it: in other processes, asked and answered."""

from typing import Literal, Protocol

from orchestrator.core.models import PlanAnswer, PlanRequest
from orchestrator.core.models.questions import Answer, Question


class Planner(Protocol):
    """Makes plans and answers questions about them; never blocks the loop."""

    async def plan(self, request: PlanRequest, *, effort: Literal["repair", "full"], seconds: float) -> PlanAnswer:
        """``repair``: a checked, usable plan by re-insertion, in well under a second.
        ``full``: the best found within ``seconds``.

        Raises:
            PlannerFailed: the process died or answered nothing in time.
        """

    async def ask(self, question: Question) -> Answer:
        """Any question; the answer is of its kind.

        Raises:
            PlannerFailed: the process died, answered nothing in time, or has no answer to it.
        """

    async def close(self) -> None:
        """End the processes."""


class PlannerFailed(Exception):
    """No answer; the message says why."""
