"""The program's own planner, by construction and repair only, in this process; slow or gone at times."""

import asyncio
import random
from dataclasses import dataclass
from typing import Literal

from orchestrator.core.models import PlanAnswer, PlanRequest
from orchestrator.core.models.questions import Answer, Question
from orchestrator.planner.answers import answer
from orchestrator.planner.plan import make_plan
from orchestrator.ports.planning import OnBetter, PlannerFailed


@dataclass(slots=True)
class QuickPlanner:
    """Implements `ports.planning.Planner`."""

    chance: random.Random
    failing: float = 0.0
    """How often its process ends before it answers."""
    asked: int = 0

    async def plan(
        self,
        request: PlanRequest,
        *,
        effort: Literal["repair", "full"],
        seconds: float,
        on_better: OnBetter | None = None,
    ) -> PlanAnswer:
        """A checked plan, after the time that a search would take. Raises: PlannerFailed."""
        self.asked += 1
        await asyncio.sleep(self.chance.uniform(0.02, 0.3) if effort == "repair" else self.chance.uniform(0.3, 4.0))
        if self.chance.random() < self.failing:
            raise PlannerFailed("its process ended before it answered")
        return await asyncio.to_thread(make_plan, request, effort="repair", seconds=seconds, seed=0, deterministic=True)

    async def ask(self, question: Question, on_better: OnBetter | None = None) -> Answer:
        """Any other question."""
        return await asyncio.to_thread(answer, question)

    async def close(self) -> None:
        """Nothing to end."""
