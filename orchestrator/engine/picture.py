"""The frozen picture that threads and streams read: replaced whole after every change, never altered."""

import asyncio
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType

from orchestrator.core.ids import ProbeId
from orchestrator.core.models import ProbeFact
from orchestrator.core.state import State
from orchestrator.ports.clock import Clock


@dataclass(frozen=True, slots=True)
class Picture:
    """Everything at one instant, safe to read from any thread."""

    version: int
    state: State
    facts: Mapping[ProbeId, ProbeFact]
    now: datetime
    rate: float
    linked: bool
    planning: bool
    better_plans: int
    """How many better plans the present search has found so far."""
    trouble: str
    """Why commands are not accepted, or why there is no new plan; empty when all is well."""


class Publisher:
    """Holds the latest picture and tells followers, once per turn of the loop, that it changed."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._followers: list[Callable[[], None]] = []
        self._telling = False
        self.state = State()
        self.facts: Mapping[ProbeId, ProbeFact] = MappingProxyType({})
        self.linked = True
        self.planning = False
        self.better_plans = 0
        self.log_trouble = ""
        self.plan_trouble = ""
        self.picture = self._take(0)

    def _take(self, version: int) -> Picture:
        return Picture(
            version,
            self.state,
            self.facts,
            self._clock.now(),
            self._clock.rate,
            self.linked,
            self.planning,
            self.better_plans,
            self.log_trouble or self.plan_trouble,
        )

    def publish(self) -> None:
        """Replace the picture and tell the followers. Call it from the loop."""
        self.picture = self._take(self.picture.version + 1)
        if not self._telling:
            self._telling = True
            asyncio.get_running_loop().call_soon(self._tell)

    def _tell(self) -> None:
        self._telling = False
        for follower in tuple(self._followers):
            follower()

    def follow(self, callback: Callable[[], None]) -> Callable[[], None]:
        """Call back from the loop after every change; returns how to stop."""
        self._followers.append(callback)

        def stop() -> None:
            if callback in self._followers:
                self._followers.remove(callback)

        return stop


class Published:
    """What a gateway reads of whoever carries a kitchen, or follows one."""

    def __init__(self, publisher: Publisher) -> None:
        self._publisher = publisher

    @property
    def picture(self) -> Picture:
        """The latest frozen picture; readable from any thread."""
        return self._publisher.picture

    @property
    def log_trouble(self) -> str:
        """Why nothing can be recorded; empty while it can."""
        return self._publisher.log_trouble

    def follow(self, callback: Callable[[], None]) -> Callable[[], None]:
        """Call back from the loop after every change; returns how to stop."""
        return self._publisher.follow(callback)
