"""The planner as the engine sees it: in another process, asked and answered."""

from typing import Literal, Protocol

from orchestrator.core.models import PlanAnswer, PlanRequest


class Planner(Protocol):
    """Makes plans; never blocks the loop."""

    async def plan(self, request: PlanRequest, *, effort: Literal["repair", "full"], seconds: float) -> PlanAnswer:
        """``repair``: a checked, usable plan by re-insertion, in well under a second.
        ``full``: the best found within ``seconds``.

        Raises:
            PlannerFailed: the process died or answered nothing in time.
        """

    async def close(self) -> None:
        """End the process."""


class PlannerFailed(Exception):
    """No answer; the message says why."""
