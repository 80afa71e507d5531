"""A planner that answers what it is told to, when it is told to."""

import asyncio
from collections.abc import Callable
from typing import Literal

from orchestrator.core.models import Plan, PlanAnswer, PlanRequest
from orchestrator.core.models.questions import Answer, PlanProgress, Question
from orchestrator.ports.planning import OnBetter, PlannerFailed


class ScriptedPlanner:
    """Answers with ``make(request)``; `hold` keeps full questions waiting until `let_go`."""

    def __init__(self, make: Callable[[PlanRequest], Plan | None]) -> None:
        self._make = make
        self.asked: list[str] = []
        self.cancelled = 0
        self.fail_next = 0
        self.better = 0
        """So many better plans it tells of before it answers a full question."""
        self.answers: dict[str, Answer] = {}
        """What it answers to a question of that kind."""
        self.questions: list[Question] = []
        self.ready = asyncio.Event()
        """Cleared, questions other than plans wait for it."""
        self.ready.set()
        self.dropped = 0
        """How many of those were cancelled while they waited."""
        self._open = asyncio.Event()
        self._open.set()

    def hold(self) -> None:
        self._open.clear()

    def let_go(self) -> None:
        self._open.set()

    async def plan(
        self,
        request: PlanRequest,
        *,
        effort: Literal["repair", "full"],
        seconds: float,
        on_better: OnBetter | None = None,
    ) -> PlanAnswer:
        self.asked.append(effort)
        if self.fail_next:
            self.fail_next -= 1
            raise PlannerFailed("its process ended before it answered")
        if effort == "full":
            for _ in range(self.better if on_better is not None else 0):
                assert on_better is not None
                on_better(PlanProgress(seconds=0.0, terms=()))
            try:
                await self._open.wait()
            except asyncio.CancelledError:
                self.cancelled += 1
                raise
        plan = self._make(request)
        return PlanAnswer(plan=plan, violations=() if plan else ("no room",), seconds=0.0)

    async def ask(self, question: Question, on_better: OnBetter | None = None) -> Answer:
        self.questions.append(question)
        if question.kind == "plan":
            return await self.plan(question.request, effort=question.effort, seconds=question.seconds)
        try:
            await self.ready.wait()
        except asyncio.CancelledError:
            self.dropped += 1
            raise
        if question.kind not in self.answers:
            raise PlannerFailed(f"no answer was written down to {question.kind!r}")
        return self.answers[question.kind]

    async def close(self) -> None:
        """Nothing to end."""
