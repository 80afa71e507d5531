"""The one door between the screens (and the simulated crew) and the kitchen."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

from orchestrator.core.commands import Command
from orchestrator.core.errors import Refusal
from orchestrator.core.events import Recorded
from orchestrator.core.ids import ProbeId
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.questions import Answer, Question
from orchestrator.core.state import State
from orchestrator.gateway.vitals import Vitals
from orchestrator.ports.event_log import Reading
from orchestrator.ports.planning import OnBetter
from orchestrator.ports.recipes import RecipeTexts
from orchestrator.ports.setting_up import KitchenFolder


@dataclass(frozen=True, slots=True)
class Accepted:
    """The command is on disk."""

    seq: int
    """Of its last event, or of the state when nothing had to change."""


Outcome = Accepted | Refusal


@dataclass(frozen=True, slots=True)
class Snapshot:
    """A frozen picture of everything, safe to read from any thread."""

    version: int
    """Grows with every change of state, facts or clock."""
    state: State
    facts: Mapping[ProbeId, ProbeFact]
    now: datetime
    """The kitchen's time when taken."""
    rate: float
    """Kitchen seconds a real second; 0 while paused."""
    practice: bool
    """True in a demo: everything shown is marked PRACTICE."""
    rejected: Mapping[str, int] = field(default_factory=dict)
    """Readings turned away, by reason."""
    rejected_last: Mapping[str, str] = field(default_factory=dict)
    broker_url: str = ""
    linked: bool = True
    """Whether the engine still accepts commands."""
    planning: bool = False
    """The planner is at work."""
    better_plans: int = 0
    """How many better plans its search has found so far."""


class PracticeControl(Protocol):
    """What only a demo has: its clock, its crew and its troubles."""

    def set_rate(self, rate: float) -> None:
        """Run that many times faster; 0 pauses."""

    def jump(self) -> None:
        """Go to the next event."""

    def set_crew(self, on: bool) -> None:
        """Whether the simulated crew works, or a person plays cook."""

    def crew_on(self) -> bool:
        """Whether it does."""

    def troubles(self) -> Sequence[tuple[str, str, bool]]:
        """Planted troubles as (key, title, planted already)."""

    def plant(self, trouble: str) -> None:
        """Let it happen now. Raises: KeyError."""


class Gateway(Protocol):
    """Thread-safe. All but `submit` and `ask` may be called from the loop's own thread, too: there they would
    wait for themselves."""

    def submit(self, command: Command, timeout_s: float = 10.0) -> Outcome:
        """Hand in a command and wait until it is durable or refused.

        Raises:
            TimeoutError: not durable in time; sending the same command again is harmless.
        """

    def ask(self, question: Question, timeout_s: float = 60.0, on_better: OnBetter | None = None) -> Answer | Refusal:
        """Ask the planner something and wait for its answer, which is of the question's kind.

        Args:
            question: What.
            timeout_s: How long to wait.
            on_better: Told, on the loop, how far it is, where that can be told. It must not block.

        Raises:
            TimeoutError: no answer in time; the question is dropped.
        """

    def snapshot(self) -> Snapshot:
        """The latest frozen picture."""

    def readings(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        """Stored readings, in order."""

    def history(self, after: int = 0, limit: int = 200) -> Sequence[Recorded]:
        """Events from the log, newest last."""

    def on_change(self, callback: Callable[[], None]) -> Callable[[], None]:
        """Call back, from the loop, after every change; returns how to stop. The callback must not block."""

    def vitals(self) -> Vitals:
        """How the service itself does, now."""

    def metrics(self) -> bytes:
        """What was counted, in Prometheus's text form."""

    @property
    def recipe_texts(self) -> RecipeTexts:
        """Reads and writes recipes as the kitchen's own files have them."""

    @property
    def kitchen_folder(self) -> KitchenFolder | None:
        """Where the kitchen's files lie that wait to be taken over; none where none was named."""

    @property
    def practice(self) -> PracticeControl | None:
        """None in a real kitchen."""
