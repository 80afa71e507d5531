"""Simulated people: what they see, remember and try through the same door as everybody."""

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.commands import Command
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CommandId, CrewId
from orchestrator.core.models import Kitchen
from orchestrator.core.state import State
from orchestrator.gateway.door import Accepted, Gateway, Outcome
from orchestrator.simulator.roster import Roster

SOONEST: Final = timedelta(seconds=20)

HandThermometer = Callable[[str], float | None]
"""What a hand-held thermometer shows in the food of a lot, °C."""


@dataclass(slots=True)
class Look:
    """One look round the kitchen: the picture, and when to look again."""

    now: datetime
    state: State
    wakes: list[datetime] = field(default_factory=list)

    def wake(self, at: datetime) -> None:
        """Look again then."""
        self.wakes.append(at)


class People:
    """What simulated people know and have: the door, their roster, their chance and their memory.

    Args:
        gateway: The door.
        kitchen: Whose crew it is.
        seed: Of everything human about them.
        variation: 1: as people are; 0: exactly the usual times, never late.
        measure_c: Their hand-held thermometer.
    """

    def __init__(
        self, gateway: Gateway, kitchen: Kitchen, *, seed: int = 0, variation: float = 1.0,
        measure_c: HandThermometer = lambda lot: None,
    ) -> None:  # fmt: skip
        self.gateway = gateway
        self.kitchen = kitchen
        self.roster = Roster(kitchen)
        self.seed = seed
        self.variation = variation
        self.measure_c = measure_c
        self.after_act: Callable[[], None] = lambda: None
        """Called after every act that was accepted, before the next one."""
        self.on = True
        self.acts = 0
        """Acts that were accepted."""
        self.refusals: list[str] = []
        """What was refused, for whoever wants to know why nothing happens; the last hundred."""
        self.not_before: dict[str, datetime] = {}
        """Things to leave alone for a while: refused, or not yet noticed."""
        self.tries: dict[str, int] = {}

    def draw(self, about: str) -> random.Random:
        """Chance that belongs to one thing: the same whenever it is asked."""
        return random.Random(f"{self.seed} {about}")

    def delay(self, about: str, least_min: float, most_min: float) -> timedelta:
        """How long people take to get round to something."""
        middle = (least_min + most_min) / 2
        minutes = middle + self.variation * (self.draw(about).uniform(least_min, most_min) - middle)
        return timedelta(minutes=round(minutes))

    def command_id(self, now: datetime, act: str, thing: str) -> CommandId:
        """Unique: the same person does not do the same to the same thing twice in a moment."""
        return CommandId(f"crew-{now:%d%H%M%S}-{self.acts}-{len(self.refusals)}-{act}-{thing}"[:100])

    def submit(self, look: Look, command: Command, about: str) -> Outcome:
        """Act; a refusal is remembered and left alone for a few minutes."""
        try:
            outcome = self.gateway.submit(command)
        except TimeoutError:  # a machine at its limits: look again, it may have been done all the same
            outcome = _no_answer(about)
        if isinstance(outcome, Accepted):
            self.acts += 1
            self.tries.pop(about, None)
            self.after_act()
            look.state = self.gateway.snapshot().state
            look.wake(look.now + SOONEST)
        else:
            self.refusals = [*self.refusals[-99:], f"{look.now:%a %H:%M} {command.kind} {about}: {outcome.status}"]
            self.tries[about] = self.tries.get(about, 0) + 1
            self.leave(look, about, timedelta(minutes=3))
        return outcome

    def leave(self, look: Look, about: str, pause: timedelta) -> None:
        """Do not try that again before the pause is over."""
        self.not_before[about] = look.now + pause
        look.wake(self.not_before[about])

    def left_alone(self, look: Look, about: str) -> bool:
        """Whether it is to be left alone now."""
        return look.now < self.not_before.get(about, look.now)

    def noticed(self, look: Look, about: str, least_min: float, most_min: float) -> bool:
        """Whether people have got round to a thing that came up while they were there."""
        if about not in self.not_before:
            self.not_before[about] = look.now + self.delay(about, least_min, most_min)
        if self.left_alone(look, about):
            look.wake(self.not_before[about])
            return False
        return True

    def anyone(self, now: datetime, prefer: CrewId | None = None) -> CrewId | None:
        """Somebody who is there: the one asked for, else the first."""
        there = [member.id for member in self.roster.there(now)]
        return prefer if prefer in there else (there[0] if there else None)


def _no_answer(thing: str) -> Refusal:
    return Refusal(
        code=RefusalCode.UNAVAILABLE, thing=thing, status="no answer in time", remedy="look whether it was done"
    )
