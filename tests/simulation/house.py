"""A whole house in one process, in simulated time: real engine and planner, simulated people and heat."""

import asyncio
import threading
from collections.abc import Callable, Coroutine
from datetime import datetime, timedelta
from pathlib import Path
from types import TracebackType
from typing import Literal, Self

from orchestrator.adapters.scaled_clock import ScaledClock
from orchestrator.bootstrap import Hooks, Settings, System, build
from orchestrator.bootstrap.history import QUICK_DESK, offer_to, wait_for_plan
from orchestrator.core.models import Kitchen, PlanAnswer, PlanRequest
from orchestrator.core.models.questions import Answer, Question
from orchestrator.gateway.local import LocalGateway
from orchestrator.planner.answers import answer
from orchestrator.planner.plan import make_plan
from orchestrator.ports.planning import OnBetter
from orchestrator.simulator.runner import Cast, Runner, cast_of

SOLVE_S = 1.5
"""Deterministic seconds for the solver, each time that it is asked."""
SOLVE_AGAIN = timedelta(minutes=20)


class PlannerHere:
    """Implements `ports.planning.Planner` in this process, the same every time.

    The solver itself makes the first plan, and others while a machine stands still or an order is late, but
    not at every wish of a simulated day: in between, repair answers in its place.
    """

    def __init__(self, most_solved: int = 0) -> None:
        self.solved: list[tuple[datetime, PlanAnswer]] = []
        self._most_solved = most_solved

    async def plan(
        self,
        request: PlanRequest,
        *,
        effort: Literal["repair", "full"],
        seconds: float,
        on_better: OnBetter | None = None,
    ) -> PlanAnswer:
        """A plan; the solver's where it is worth its time."""
        solve = effort == "full" and self._worth_it(request)
        made = await asyncio.to_thread(
            make_plan,
            request,
            effort="full" if solve else "repair",
            seconds=SOLVE_S if solve else seconds,
            seed=0,
            deterministic=True,
        )
        if solve:
            self.solved.append((request.now, made))
        return made

    def _worth_it(self, request: PlanRequest) -> bool:
        if len(self.solved) >= self._most_solved:
            return False
        if request.previous is None:
            return True
        late = any(not outlook.met or outlook.late_min for outlook in request.previous.outlooks)
        again = not self.solved or request.now - self.solved[-1][0] >= SOLVE_AGAIN
        return again and (late or bool(request.stops))

    async def ask(self, question: Question, on_better: OnBetter | None = None) -> Answer:
        """What the planner answers, in a thread."""
        return await asyncio.to_thread(answer, question)

    async def close(self) -> None:
        """Nothing to end."""


class House:
    """Use as a context manager; inside, everything runs and the clock stands until somebody moves it."""

    def __init__(self, kitchen: Path, data: Path, start: datetime, *, most_solved: int = 2, database: str = "") -> None:
        self.planner = PlannerHere(most_solved)
        self.clock = ScaledClock(start, 0.0)
        settings = Settings(data=data, database=database, kitchen=kitchen, broker="none", practice=True)
        hooks = Hooks(clock=self.clock, planner=self.planner, desk=QUICK_DESK, web=False)
        self._system: System = build(settings, hooks)
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, name="house", daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        self._wait(self._system.start())
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._wait(self._system.stop())
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(10)
        self._loop.close()

    def _wait(self, work: "asyncio.Future[None] | object") -> None:
        asyncio.run_coroutine_threadsafe(work, self._loop).result(60)  # type: ignore[arg-type]

    def let(self, act: Callable[[System], Coroutine[object, object, None]]) -> None:
        """Do something with the parts, in their loop, once there is a plan."""

        async def planned() -> None:
            await wait_for_plan(self._system)
            await act(self._system)

        self._wait(planned())

    @property
    def loop(self) -> asyncio.AbstractEventLoop:
        """In which everything runs, in a thread of its own."""
        return self._loop

    @property
    def gateway(self) -> LocalGateway:
        """The door."""
        return self._system.gateway

    @property
    def kitchen(self) -> Kitchen:
        """Whose house it is."""
        kitchen = self.gateway.snapshot().state.kitchen
        assert kitchen is not None
        return kitchen

    def runner(self, *, seed: int, variation: float, on_step: Callable[[datetime], None]) -> tuple[Runner, Cast]:
        """People, heat and a driver."""
        cast = cast_of(self.gateway, self.clock.now(), seed=seed, variation=variation)
        return Runner(self.gateway, self.clock, cast, offer_to(self._system, self._loop), on_step), cast
