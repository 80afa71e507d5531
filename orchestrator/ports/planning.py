"""The planner as the engine sees it: in other processes, asked and answered."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol, runtime_checkable

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

    async def ask(self, question: Question, on_better: OnBetter | None = None) -> Answer:
        """Any question; the answer is of its kind. ``on_better`` is told how far it is, where that can be told.

        Raises:
            PlannerFailed: the process died, answered nothing in time, or has no answer to it.
        """

    async def close(self) -> None:
        """End the processes."""


@dataclass(frozen=True, slots=True)
class Member:
    """One that answers for a planner."""

    name: str
    alive: bool
    starts: int
    """How often it was started."""


@runtime_checkable
class Staffed(Protocol):
    """A planner that can say who answers for it."""

    def staff(self) -> Sequence[Member]:
        """All of them. Cheap; from any thread."""

    def revive(self) -> None:
        """Start anew whoever died while nobody asked. Loop thread only; does not wait."""


class PlannerFailed(Exception):
    """No answer; the message says why."""
