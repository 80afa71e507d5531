"""The lookout: last instants are kept fresh while nobody asks the planner for anything else."""

import asyncio
import contextlib
import logging
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final, Literal

from orchestrator.core.commands import Command, RecordInstants
from orchestrator.core.ids import TaskId
from orchestrator.core.models import Kitchen, Plan, TaskKind
from orchestrator.core.models.questions import InstantsAnswer, InstantsQuestion
from orchestrator.core.state import State, TaskStatus
from orchestrator.engine.inbox import Answer
from orchestrator.engine.loop import new_command_id
from orchestrator.engine.picture import Publisher
from orchestrator.engine.rules import Rules
from orchestrator.ports.clock import Clock
from orchestrator.ports.planning import Planner, PlannerFailed

LOG = logging.getLogger(__name__)
LOOK_EVERY_S: Final = 5.0
"""Real seconds after which time alone may have brought a task near."""
LEAST_LEAD: Final = timedelta(hours=4)
"""Tasks that start within this time, or the kitchen's longest lead time, are looked at to the minute; ours."""
FRESH: Final = timedelta(minutes=15)
"""Of the kitchen's time: so long what people have done since changes little; a figure of ours."""

Part = Literal["near", "far"]


@dataclass(frozen=True, slots=True)
class Looked:
    """What was known when it was looked last."""

    revision: int
    seq: int
    at: datetime
    near: frozenset[TaskId]
    machines: frozenset[Any]


class Lookout:
    """Asks after each adoption, when a task or maintenance comes into its lead time, when machines stop or return, when
    people have done something a while ago, and again and again while a machine is away. Whatever else is asked cancels
    it."""

    def __init__(
        self,
        *,
        rules: Rules,
        planner: Planner,
        clock: Clock,
        publisher: Publisher,
        submit: Callable[[Command], Awaitable[Answer]],
    ) -> None:
        self._rules = rules
        self._planner = planner
        self._clock = clock
        self._publisher = publisher
        self._submit = submit
        self._changed = asyncio.Event()
        self._last: Looked | None = None

    async def run(self) -> None:
        """Look out until cancelled."""
        unfollow = self._publisher.follow(self._changed.set)
        try:
            while True:
                await self._look_once()
                with contextlib.suppress(TimeoutError):
                    async with asyncio.timeout(LOOK_EVERY_S):
                        await self._changed.wait()
                self._changed.clear()
        finally:
            unfollow()

    async def _look_once(self) -> None:
        state, now = self._publisher.state, self._clock.now()
        kitchen, plan = state.kitchen, state.plan
        if kitchen is None or plan is None or self._publisher.planning or now >= kitchen.planned_until:
            return
        seen = _looked(state, kitchen, plan, now)
        if not worth_it(self._last, seen):
            return
        new = self._last is None or self._last.revision != seen.revision
        parts: tuple[Part, ...] = ("near", "far") if new else ("near",)
        try:
            for part in parts:
                await self._ask(state, plan, now + _lead(kitchen), part)
        except PlannerFailed as error:
            LOG.info("no last instants: %s", error)
        except _Outdated:
            return  # looked at anew when the planner has time again
        self._last = seen

    async def _ask(self, state: State, plan: Plan, until: datetime, part: Part) -> None:
        request = await asyncio.to_thread(self._rules.plan_request, state, self._clock.now())
        question = InstantsQuestion(request=request, plan=plan, until=until, part=part)
        answer = await self._unless_outdated(asyncio.ensure_future(self._planner.ask(question)), state.revision)
        if isinstance(answer, InstantsAnswer) and answer.complete:
            await self._submit(
                RecordInstants(
                    command_id=new_command_id("instants"),
                    revision=state.revision,
                    starts=answer.starts,
                    returns=answer.returns if part == "near" else None,
                )
            )

    async def _unless_outdated(self, asking: asyncio.Future[Any], revision: int) -> Any:
        try:
            while not asking.done():
                self._changed.clear()
                if self._publisher.planning or self._publisher.state.revision != revision:
                    raise _Outdated
                change = asyncio.ensure_future(self._changed.wait())
                try:
                    await asyncio.wait((asking, change), return_when=asyncio.FIRST_COMPLETED)
                finally:
                    change.cancel()
            return asking.result()
        finally:
            asking.cancel()


class _Outdated(Exception):
    """A plan is being made, or another one was adopted."""


def _lead(kitchen: Kitchen) -> timedelta:
    warnings = kitchen.warnings
    return max(LEAST_LEAD, timedelta(minutes=max(warnings.window_lead, warnings.order_lead)))


def _looked(state: State, kitchen: Kitchen, plan: Plan, now: datetime) -> Looked:
    soon = now + _lead(kitchen)
    near = (
        task.id
        for task in plan.tasks
        if task.kind is TaskKind.WORK and task.start <= soon and state.record(task.id).status is TaskStatus.WAITING
    )
    standing = ((machine, stop.since, stop.until) for machine, stop in state.machines.items())
    planned = (
        (machine.id, span.start, span.end)
        for machine in kitchen.equipment
        for span in machine.maintenance
        if span.start <= soon and span.end > now
    )
    return Looked(state.revision, state.seq, now, frozenset(near), frozenset((*standing, *planned)))


def worth_it(last: Looked | None, seen: Looked) -> bool:
    """Whether last instants may be others than those found last."""
    if last is None or last.revision != seen.revision or last.machines != seen.machines:
        return True
    # While a machine is away, time alone takes away what could have gone before.
    changed = seen.seq != last.seq or bool(seen.machines)
    return bool(seen.near - last.near) or (changed and seen.at - last.at >= FRESH)
