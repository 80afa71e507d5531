"""The functions of core that the engine turns: handed in, so that the loop can be tested by itself."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from orchestrator.core.commands import Command
from orchestrator.core.effects import Effect
from orchestrator.core.errors import Refusal
from orchestrator.core.events import Event, Recorded
from orchestrator.core.ids import EquipmentId, ProbeId, TaskId
from orchestrator.core.models import Kitchen, PlanRequest, ProbeFact
from orchestrator.core.state import Facts, State
from orchestrator.ports.event_log import Reading
from orchestrator.thermal.estimates import Bands
from orchestrator.thermal.health import Drift


class Decided(Protocol):
    """What core decided: events to put on disk, then effects to carry out."""

    @property
    def events(self) -> tuple[Event, ...]:
        """In order."""

    @property
    def effects(self) -> tuple[Effect, ...]:
        """Carried out after the events are on disk."""


@dataclass(frozen=True, slots=True)
class Finished:
    """A curve that has reached its step's target, and what the next run can learn of it."""

    task: TaskId
    equipment: EquipmentId
    reached_at: datetime
    target_c: float
    bands: Bands


class Assess(Protocol):
    """Folds readings into what they mean."""

    def fold(self, reading: Reading, state: State) -> ProbeFact:
        """Take one more reading into the curve of its probe."""

    def silence(self, now: datetime, state: State) -> Sequence[ProbeFact]:
        """Facts that change because nothing was heard."""

    def resume(self, now: datetime, state: State) -> None:
        """After a restart, once stored readings are folded again: what is silent is so from the start."""

    @property
    def facts(self) -> Mapping[ProbeId, ProbeFact]:
        """The latest of every probe; a copy."""

    def resume_from(self, probe: ProbeId, state: State, now: datetime) -> datetime:
        """From when on stored readings must be folded again after a restart."""

    def finished(self) -> Sequence[Finished]:
        """Curves that have reached their target since this was last asked."""

    def restore_drift(self, probe: ProbeId, drift: Drift, state: State) -> None:
        """How a probe had moved against its neighbours before a restart."""


@dataclass(frozen=True, slots=True)
class Rules:
    """Everything that decides; none of it touches the world."""

    decide: Callable[[State, Command, datetime, Facts], Decided | Refusal]
    evolve: Callable[[State, Recorded], State]
    next_due: Callable[[State, datetime], datetime | None]
    plan_request: Callable[[State, datetime], PlanRequest]
    plan_holds: Callable[[State, datetime], bool]
    """Whether the present plan can still be worked by."""
    assessor: Callable[[Kitchen], Assess]
