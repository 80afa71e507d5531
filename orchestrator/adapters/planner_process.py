"""The planner in two warm processes: a quick one for repairs and short questions, and one that searches."""

import asyncio
from typing import Final, Literal

from orchestrator.adapters.child_process import ChildProcess, Worker
from orchestrator.core.models import PlanAnswer, PlanRequest
from orchestrator.core.models.questions import Answer, PlanQuestion, Question
from orchestrator.ports.planning import Member, OnBetter, PlannerFailed

_GRACE_S: Final = 20.0
"""Beyond the seconds asked for: the first question waits for the process to load."""
_QUICK: Final = frozenset({"why", "risk", "instants"})
"""Answered without the solver, by the quick process."""


class PlannerProcess:
    """Implements `ports.planning.Planner`: a repair never waits for a search, nor a plan for any other question."""

    def __init__(self, quick: Worker, search: Worker, *, grace_s: float = _GRACE_S) -> None:
        """Name the functions of the children; nothing is started yet."""
        self.quick = ChildProcess(quick, "coldwright-planner-quick", grace_s=grace_s)
        self.search = ChildProcess(search, "coldwright-planner-search", grace_s=grace_s)

    def start(self) -> None:
        """Start both now, so that they are warm when they are asked."""
        self.quick.start()
        self.search.start()

    async def plan(
        self,
        request: PlanRequest,
        *,
        effort: Literal["repair", "full"],
        seconds: float,
        on_better: OnBetter | None = None,
    ) -> PlanAnswer:
        """Ask for a plan. Cancelled, the search is told to stop and its process lives on.

        Raises:
            PlannerFailed: the process died or answered nothing in time.
        """
        question = PlanQuestion(request=request, effort=effort, seconds=seconds)
        answer = await self._for(question).ask(question, urgent=True, on_better=on_better)
        if not isinstance(answer, PlanAnswer):
            raise PlannerFailed(f"it answered {answer.kind!r} when asked for a plan")
        return answer

    async def ask(self, question: Question, on_better: OnBetter | None = None) -> Answer:
        """Ask anything.

        Raises:
            PlannerFailed: the process died, answered nothing in time, or has no answer.
        """
        return await self._for(question).ask(question, urgent=question.kind == "plan", on_better=on_better)

    def _for(self, question: Question) -> ChildProcess:
        return self.quick if is_quick(question) else self.search

    def staff(self) -> tuple[Member, ...]:
        """Both of them."""
        return tuple(Member(one.name, one.alive, one.starts) for one in (self.quick, self.search))

    def revive(self) -> None:
        """Start anew whichever died while nobody asked."""
        self.quick.revive()
        self.search.revive()

    async def close(self) -> None:
        """End both processes."""
        await asyncio.gather(self.quick.close(), self.search.close())


def is_quick(question: Question) -> bool:
    """Whether it is answered without the solver: repairs and short questions."""
    return question.effort == "repair" if isinstance(question, PlanQuestion) else question.kind in _QUICK
