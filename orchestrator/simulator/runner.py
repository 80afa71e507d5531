"""Runs a kitchen in simulated time, from event to event, as fast as it can: for history and for tests."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.commands import DecidePlan, Tick
from orchestrator.core.due import next_due
from orchestrator.core.ids import CommandId
from orchestrator.core.state import State
from orchestrator.gateway.door import Gateway
from orchestrator.ports.event_log import Reading
from orchestrator.simulator.clock import SettableClock
from orchestrator.simulator.crew import Crew
from orchestrator.simulator.physics import Physics, Thermometers
from orchestrator.simulator.scene import Scene, scene_of
from orchestrator.simulator.troubles import Troubles

_LONGEST_STEP: Final = timedelta(minutes=5)
_SHORTEST_STEP: Final = timedelta(seconds=20)
_SETTLE_S: Final = 60.0
_QUIET_S: Final = 0.02
"""The planner counts as busy from the very turn that wishes for a plan: after so long without it is at rest."""

Offer = Callable[[Sequence[Reading]], None]
"""Hands readings in and returns when they are kept."""


@dataclass(slots=True)
class Cast:
    """Everybody and everything simulated in one kitchen."""

    crew: Crew
    physics: Physics
    thermometers: Thermometers
    troubles: Troubles


def cast_of(gateway: Gateway, at: datetime, *, seed: int = 0, variation: float = 1.0) -> Cast:
    """People, heat, thermometers and troubles for the kitchen behind a door."""
    kitchen = gateway.snapshot().state.kitchen
    if kitchen is None:
        raise ValueError("no kitchen has been imported yet")
    physics = Physics(kitchen, at, seed)
    thermometers = Thermometers(kitchen, physics)
    crew = Crew(gateway, kitchen, seed=seed, variation=variation, measure_c=physics.core_c)
    troubles = Troubles(gateway, kitchen, crew.roster, physics, thermometers, seed=seed)
    return Cast(crew, physics, thermometers, troubles)


@dataclass(slots=True)
class Runner:
    """Steps from one event to the next, one thing after the other, so that the same seed gives the same days.

    After every act everything comes to rest before the next one: what the planner is asked, and what it answers
    into, never depends on how fast this machine is today.

    Args:
        on_step: Called after every step, for invariants and progress.
    """

    gateway: Gateway
    clock: SettableClock
    cast: Cast
    offer: Offer
    on_step: Callable[[datetime], None] = lambda now: None
    steps: int = 0
    ticks: int = 0
    _answered: tuple[str, int] | None = None
    _due: tuple[State, datetime | None] | None = None

    def run(self, until: datetime) -> None:
        """Step until that instant. Call it from a thread, never from the engine's loop."""
        self.cast.crew.after_act = self.settle
        self.settle()
        while self.clock.now() < until:
            self.step(until)

    def step(self, until: datetime) -> None:
        """Let people act, then go to whatever comes next."""
        now = self.clock.now()
        self.cast.troubles.due(now)
        self.settle()
        look_again = self.cast.crew.look(now)
        self.settle()
        target = min(self._next(now, look_again), until)
        if target > self.clock.now():
            self.clock.jump(target)
        self._let_through(target)
        self.settle()
        self.deliver(target)
        self._ask_nothing(target)
        self.settle()
        self.steps += 1
        self.on_step(target)

    def _next(self, now: datetime, look_again: datetime) -> datetime:
        state = self.gateway.snapshot().state
        candidates = [look_again, now + _LONGEST_STEP]
        if (due := self._next_due(state, now)) is not None:
            candidates.append(due)
        if (trouble := self.cast.troubles.next_at()) is not None:
            candidates.append(trouble)
        return max(min(candidates), now + _SHORTEST_STEP)

    def _next_due(self, state: State, now: datetime) -> datetime | None:
        """Asked anew only when the state has changed or the instant has come: it is costly to find."""
        known = self._due
        if known is None or known[0] is not state or (known[1] is not None and known[1] <= now):
            known = self._due = (state, next_due(state, now))
        return known[1]

    def deliver(self, now: datetime) -> None:
        """Hand in all readings measured up to now."""

        def scene() -> Scene:
            return scene_of(self.gateway.snapshot().state)

        measured = self.cast.thermometers.measure(now, scene)
        readings = [Reading(probe, celsius, at, now, seq) for probe, celsius, at, seq in measured]
        if readings:
            self.offer(readings)

    def _let_through(self, now: datetime) -> None:
        """Wait until the engine has seen the new time. Its own timers ring at the jump, and what they submit is in
        the inbox before a first question has been answered; a second one comes after it. A question that is refused
        is enough, and cheaper than a tick."""
        state = self.gateway.snapshot().state
        known = self._due
        due = known is None or known[0] is not state or (known[1] is not None and known[1] <= now)
        self._ask_nothing(now)
        if due:
            self.ticks += 1
            self.gateway.submit(Tick(command_id=CommandId(f"step-{now.timestamp():.0f}-{self.ticks}")))
        else:
            self._ask_nothing(now)

    def _ask_nothing(self, now: datetime) -> None:
        """A question that the engine refuses, after everything that was handed in before it."""
        self.ticks += 1
        name = CommandId(f"step-{now.timestamp():.0f}-{self.ticks}")
        self.gateway.submit(DecidePlan(command_id=name, proposal=-1, adopt=False))

    def settle(self) -> None:
        """Wait until the planner has nothing left to do.

        Raises:
            TimeoutError: it does not come to rest.
        """
        begun, busy_at = time.monotonic(), time.monotonic()
        while True:
            picture = self.gateway.snapshot()
            wish = (picture.state.replan_reason, picture.state.revision)
            if picture.planning or (picture.state.kitchen is not None and picture.state.plan is None):
                busy_at = time.monotonic()
            elif not wish[0] or wish == self._answered:
                return
            elif time.monotonic() - busy_at > _QUIET_S:
                self._answered = wish  # the answer was the present plan: the wish stands, nothing more comes
                return
            if time.monotonic() - begun > _SETTLE_S:
                raise TimeoutError(f"the planner does not come to rest: {picture.state.replan_reason}")
            time.sleep(0.002)
