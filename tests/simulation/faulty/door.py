"""Screens and the network between them and the engine: answers get lost, requests come twice, and a tap is sent again
with the same id until it is answered."""

import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

from orchestrator.core.commands import Command
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CommandId, ProbeId
from orchestrator.core.models.questions import Answer, Question
from orchestrator.engine import Engine
from orchestrator.gateway.door import Accepted, Outcome, Snapshot
from orchestrator.ports.event_log import Reading
from orchestrator.ports.planning import OnBetter
from orchestrator.ports.recipes import RecipeTexts
from orchestrator.ports.setting_up import KitchenFolder
from tests.simulation.faulty.world import World

_PATIENCE_S: Final = 10.0
_TRIES: Final = 3
_QUEUE_S: Final = 7.0


@dataclass(slots=True)
class Door:
    """Implements `gateway.door.Gateway` for people outside; what they see is the last picture that reached them."""

    world: World
    chance: random.Random
    engine: Callable[[], Engine | None]
    on_answer: Callable[[Command, Outcome], None]
    """Told of every answer that a screen got."""
    cut_off: bool = False
    """The Wi-Fi is gone."""
    lossy: float = 0.03
    """Share of requests lost, and of answers lost."""
    counted: Counter[str] = field(default_factory=Counter)
    _seen: Snapshot | None = None
    _queue: list[Command] = field(default_factory=list)
    _answers: dict[CommandId, Outcome] = field(default_factory=dict)

    def submit(self, command: Command, timeout_s: float = _PATIENCE_S) -> Outcome:
        """Tap, and wait. Raises: TimeoutError when no answer came; the tap then waits in the screen's queue."""
        if self.chance.random() < 0.3:
            command = command.model_copy(update={"tapped_at": self.world.clock.now()})
        self.counted["acts"] += 1
        for tried in range(_TRIES):
            self.counted["sent again"] += tried > 0
            if (outcome := self._try(command)) is not None:
                return outcome
        self.counted["queued"] += 1
        if not self._queue:
            self.world.after(_QUEUE_S, self._flush)
        self._queue.append(command)
        raise TimeoutError

    def _try(self, command: Command) -> Outcome | None:
        self.send(command)
        until = self.world.now_s + _PATIENCE_S
        self.world.pass_to(until, lambda: command.command_id in self._answers)
        return self._answers.pop(command.command_id, None)

    def _flush(self) -> None:
        """The screen's queue: the oldest first, each until it is answered."""
        self._queue = [waits for waits in self._queue if self._answers.pop(waits.command_id, None) is None]
        if self._queue:
            self.send(self._queue[0])
            self.world.after(_QUEUE_S, self._flush)

    def has_seen(self) -> bool:
        """Whether there is anything to look at, now or from before."""
        return self._seen is not None or (self.engine() is not None and not self.cut_off)

    @property
    def waiting(self) -> int:
        """Taps that wait for the link."""
        return len(self._queue)

    def send(self, command: Command) -> None:
        """Send a request once; nobody waits for its answer here."""
        if self.cut_off or self.chance.random() < self.lossy:
            self.counted["requests lost"] += 1
            return
        self.world.after(self.chance.expovariate(50.0), lambda: self._arrive(command))
        if self.chance.random() < 0.04:  # the same request once more, much later
            self.counted["came twice"] += 1
            self.world.after(self.chance.expovariate(1 / 60.0), lambda: self._arrive(command))

    def _arrive(self, command: Command) -> None:
        engine, loop = self.engine(), self.world.loop
        if engine is None or loop is None:
            return

        async def answered() -> None:
            answer = await engine.submit(command)
            outcome = answer if isinstance(answer, Refusal) else Accepted(answer)
            if self.cut_off or self.chance.random() < self.lossy:
                self.counted["answers lost"] += 1
                return
            self.world.after(self.chance.expovariate(50.0), lambda: self._answer(command, outcome))

        loop.create_task(answered())

    def _answer(self, command: Command, outcome: Outcome) -> None:
        if self.cut_off:
            return
        self.on_answer(command, outcome)
        self._answers[command.command_id] = outcome

    def snapshot(self) -> Snapshot:
        """The latest picture, or the last one that came through."""
        engine = self.engine()
        if engine is not None and not self.cut_off:
            p = engine.picture
            told = {"linked": p.linked, "planning": p.planning}
            self._seen = Snapshot(p.version, p.state, p.facts, p.now, p.rate, False, **told)
        assert self._seen is not None, "nobody has seen anything yet"
        return self._seen

    def ask(self, question: Question, timeout_s: float = 60.0, on_better: OnBetter | None = None) -> Answer | Refusal:
        """Nobody asks here."""
        return Refusal(code=RefusalCode.UNAVAILABLE, thing="planner", status="not here", remedy="none")

    def readings(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        """Nobody looks at curves here."""
        return ()

    def history(self, after: int = 0, limit: int = 200) -> Sequence[object]:
        """Nobody looks back here."""
        return ()

    def on_change(self, callback: Callable[[], None]) -> Callable[[], None]:
        """Nobody is told; people look."""
        return lambda: None

    @property
    def recipe_texts(self) -> RecipeTexts:
        """None here."""
        raise NotImplementedError

    @property
    def kitchen_folder(self) -> KitchenFolder | None:
        """None here."""
        return None

    @property
    def practice(self) -> None:
        """This is meant."""
        return None
