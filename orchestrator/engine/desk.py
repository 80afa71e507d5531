"""The planning desk: the latest facts win, a repair never waits for a search, answers go through the inbox."""

import asyncio
import logging
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Literal

from orchestrator.core.commands import Command, OfferPlan
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.models import PlanAnswer, PlanRequest
from orchestrator.core.models.questions import PlanProgress
from orchestrator.engine.inbox import Answer
from orchestrator.engine.loop import new_command_id
from orchestrator.engine.picture import Publisher
from orchestrator.engine.rules import Rules
from orchestrator.ports.clock import Clock
from orchestrator.ports.metering import Meter, Unmetered
from orchestrator.ports.planning import Planner, PlannerFailed

LOG = logging.getLogger(__name__)
_MOST_DROPS = 2
"""So many questions in a row may be dropped for newer facts; the next one is seen through."""


@dataclass(frozen=True, slots=True)
class DeskSettings:
    """How the planner is asked; all times in real seconds."""

    seconds: float = 4.0
    """For the full effort."""
    repair_seconds: float = 1.0
    debounce_s: float = 0.15
    """Several wishes within this time are one question."""
    first_retry_s: float = 0.5
    longest_retry_s: float = 60.0
    instants: bool = True
    """Whether last instants are looked for while nothing else is asked."""


class PlanningDesk:
    """Asks for a plan when one is wanted and offers the answer to the kitchen.

    If the present plan no longer passes the checker, a quick repair is offered first, provisionally, so that
    every cook has a valid next step while the full plan is made. A wish that arrives while the full plan is
    being searched for brings newer facts: the search is told to stop and begins anew with them, unless it is more
    than half done and the present plan still holds, or was dropped twice already.
    """

    def __init__(
        self,
        *,
        rules: Rules,
        planner: Planner,
        clock: Clock,
        publisher: Publisher,
        submit: Callable[[Command], Awaitable[Answer]],
        settings: DeskSettings | None = None,
        meter: Meter | None = None,
    ) -> None:
        self._rules = rules
        self._planner = planner
        self._clock = clock
        self._publisher = publisher
        self._submit = submit
        self._settings = settings or DeskSettings()
        self._meter = meter or Unmetered()
        self._wanted = asyncio.Event()
        self._drops = 0
        self._failed = False

    def ask(self) -> None:
        """A new plan is wanted. It is shown at once, so that a clock that waits for plans loses no moment."""
        self._wanted.set()
        self._show(planning=True)

    async def run(self) -> None:
        """Serve wishes until cancelled."""
        retry_s = self._settings.first_retry_s
        while True:
            await self._wanted.wait()
            await asyncio.sleep(self._settings.debounce_s)
            self._wanted.clear()
            self._show(planning=True)
            try:
                done, trouble = await self._answer_wish(), ""
            except PlannerFailed as error:
                LOG.warning("no plan: %s; asking again in %.1f s", error, retry_s)
                done, trouble = False, f"no new plan: {error}"
            self._failed = not done
            if done:
                retry_s = self._settings.first_retry_s
            else:
                self._show(planning=False, trouble=trouble)
                await asyncio.sleep(retry_s)
                retry_s = min(retry_s * 2, self._settings.longest_retry_s)
                self._wanted.set()
            self._show(planning=self._wanted.is_set(), trouble=trouble)

    def _show(self, *, planning: bool, trouble: str | None = None) -> None:
        if trouble is not None:
            self._publisher.plan_trouble = trouble
        self._publisher.planning = planning
        self._publisher.publish()

    async def _answer_wish(self) -> bool:
        """Returns whether the wish is settled; False asks again after a pause."""
        if self._publisher.state.kitchen is None:
            return True
        if await asyncio.to_thread(self._present_plan_fails):
            await self._repair()
        question = asyncio.ensure_future(self._ask_and_offer("full", self._settings.seconds))
        try:
            return await self._follow(question)
        finally:
            question.cancel()
            self._publisher.better_plans = 0

    async def _repair(self) -> None:
        try:
            await self._ask_and_offer("repair", self._settings.repair_seconds)
        except PlannerFailed as error:
            LOG.warning("no quick repair: %s; the full plan is asked for", error)

    async def _follow(self, question: asyncio.Future[bool]) -> bool:
        """Wait for the full plan, or drop the question for newer facts; if it may not be dropped, repair meanwhile."""
        looked_at = -1
        loop_time = asyncio.get_running_loop().time
        half_done = loop_time() + self._settings.seconds / 2
        while not question.done():
            wish = asyncio.ensure_future(self._wanted.wait())
            try:
                await asyncio.wait((question, wish), return_when=asyncio.FIRST_COMPLETED)
            finally:
                wish.cancel()
            seq = self._publisher.state.seq
            if not question.done() and seq != looked_at:
                looked_at = seq
                fails = await asyncio.to_thread(self._present_plan_fails)
                if self._drops < _MOST_DROPS and (fails or loop_time() < half_done):
                    self._drops += 1
                    return True  # the wish stands: the next round begins with the facts as they are now
                if fails:
                    await self._repair()
            await asyncio.wait((question,), timeout=self._settings.debounce_s)
        self._drops = 0
        return question.result()

    def _present_plan_fails(self) -> bool:
        """In a thread: checking a plan takes longer than the loop may be held."""
        state = self._publisher.state
        if state.plan is None:
            return self._failed  # a first plan is worth waiting for: what follows a quick one would need a person
        return not self._rules.plan_holds(state, self._clock.now())

    def _better(self, progress: PlanProgress) -> None:
        """A search has found a better plan; shown once, since only the last one counts."""
        self._publisher.better_plans += 1
        if self._publisher.better_plans == 1:
            self._publisher.publish()

    async def _ask_and_offer(self, effort: Literal["repair", "full"], seconds: float) -> bool:
        state = self._publisher.state
        request: PlanRequest = await asyncio.to_thread(self._rules.plan_request, state, self._clock.now())
        answer = await self._planned(request, effort, seconds)
        if answer.plan is None:
            raise PlannerFailed("; ".join(answer.violations[:3]) or "the planner found none")
        outcome = await self._submit(
            OfferPlan(
                command_id=new_command_id(f"plan-{effort}"),
                plan=answer.plan,
                provisional=effort == "repair",
            )
        )
        if isinstance(outcome, Refusal):
            LOG.info("the %s plan was refused: %s", effort, outcome.status)
            if outcome.code is RefusalCode.STALE and self._wanted.is_set():
                return True  # no wonder: facts have changed, and the next question is about those
            return outcome.code not in (RefusalCode.STALE, RefusalCode.UNAVAILABLE)
        return True

    async def _planned(self, request: PlanRequest, effort: Literal["repair", "full"], seconds: float) -> PlanAnswer:
        """The planner's answer, counted with the time that it took."""
        begun, outcome = time.monotonic(), "dropped"
        try:
            answer = await self._planner.plan(
                request, effort=effort, seconds=seconds, on_better=self._better if effort == "full" else None
            )
            outcome = "answered" if answer.plan is not None else "failed"
        except PlannerFailed:
            outcome = "failed"
            raise
        finally:
            self._meter.planned(effort, outcome, time.monotonic() - begun)
        return answer
