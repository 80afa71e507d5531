"""The planner as the engine sees it: in other processes, asked and answered."""

from collections.abc import Callable
from typing import Literal, Protocol

from orchestrator.core.models import PlanAnswer, PlanRequest
from orchestrator.core.models.questions import Answer, PlanProgress, Question

OnBetter = Callable[[PlanProgress], None]


class Planner(Protocol):
    """Makes plans and answers questions about them; never blocks the loop."""

    async def plan(
        self,
        request: PlanRequest,
        *,
        effort: Literal["repair", "full"],
        seconds: float,
        on_better: OnBetter | None = None,
    ) -> PlanAnswer:
        """``repair``: a checked, usable plan by re-insertion, in well under a second.
        ``full``: the best found within ``seconds``; ``on_better`` is told of each better one on the way.

        Neither waits for the other. Cancelled, the search ends and the next question is answered at once.

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
