"""A deviation as it stands on record: what was not as asked, which lots it puts in doubt, what was done, what became
of each.

The words are those of Codex CXC 1 (General Principles of Food Hygiene, HACCP): deviation, corrective action,
disposition. Entries are never taken out: a second answer about a lot stands beside the first.
"""

from typing import Final, Literal, get_args

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId, DeviationId, EquipmentId, LotCode, OrderId, TaskId
from orchestrator.core.models.base import Model

Cause = Literal[
    "limit broken",
    "window missed",
    "record gap",
    "store warm",
    "machine stopped",
    "step left out",
    "problem",
    "held before",
    "past its days",
    "probe check failed",
]
"""``held before``: on hold since a time when no deviations were kept."""

StandardAct = Literal[
    "set apart",
    "kept cold",
    "cooled",
    "heated again",
    "moved",
    "measured",
    "machine seen to",
    "probe checked",
    "somebody told",
    "second look",
    "other",
]
"""Corrective actions that can be chosen; ``other`` says it in words alone."""

PlaceAnswer = Literal["moved", "kept", "on hold", "discarded"]
"""What somebody decided about a lot in a place that failed."""


class Action(Model):
    """A corrective action that a named person took."""

    at: AwareDatetime
    person: CrewId
    act: StandardAct
    text: str = ""
    lot: LotCode | None = None
    """Of one lot; none: of all."""


class Answer(Model):
    """One decision about a lot in a place that failed."""

    lot: LotCode
    at: AwareDatetime
    person: CrewId
    answer: PlaceAnswer
    to: EquipmentId | None = None
    reason: str = ""


class Disposition(Model):
    """What became of a lot: by whom, when and why."""

    lot: LotCode
    at: AwareDatetime
    person: CrewId
    decision: Literal["release", "rework", "discard"]
    reason: str
    second: CrewId | None = None
    """Who else looked."""
    by_code: str = ""
    """The local code, or whose licensed practice, that allows it."""


class DeviationFacts(Model):
    """What is known when a deviation is opened."""

    cause: Cause
    safety: bool
    """Whether a safety limit is broken, or it is not known that it was kept."""
    reason: str
    lots: tuple[LotCode, ...]
    asked: bool = False
    """The lots are in a place that failed: each is asked about, none is on hold yet."""
    equipment: EquipmentId | None = None
    task: TaskId | None = None
    since: AwareDatetime | None = None
    limit: str = ""
    """Its title."""
    applied: str = ""
    """The text that applied: source and edition, or the kitchen's local code."""
    readings: tuple[tuple[AwareDatetime, float], ...] = ()
    """Those that decided, °C or °F as ``unit`` says."""
    unit: Literal["C", "F"] = "C"
    person: CrewId | None = None
    """Who reported it; none: the record itself shows it."""
    served: tuple[OrderId, ...] = ()
    """Orders that had already taken from the lots."""


class Deviation(Model):
    """A deviation and all that has been done about it."""

    id: DeviationId
    opened_at: AwareDatetime
    facts: DeviationFacts
    lots: tuple[LotCode, ...]
    """All in doubt by now: those it began with, and what came to light since."""
    asked_since: AwareDatetime
    """Older answers about a place no longer count: it failed again."""
    until: AwareDatetime | None = None
    """When the place was as it should be again."""
    warmest_c: float | None = None
    """Warmest air meanwhile."""
    core_at_most_c: float | None = None
    """No food there can have been warmer at the end, reckoned from the air; see `thermal.softening`."""
    actions: tuple[Action, ...] = ()
    answers: tuple[Answer, ...] = ()
    dispositions: tuple[Disposition, ...] = ()
    closed_at: AwareDatetime | None = None
    closed_by: CrewId | None = None
    note: str = ""
    withdrawn: bool = False
    """The act that it came from was taken back."""

    @property
    def open(self) -> bool:
        """Whether something is still to be done about it."""
        return self.closed_at is None

    def answer(self, lot: LotCode) -> Answer | None:
        """The latest answer about a lot that still counts."""
        found = (a for a in reversed(self.answers) if a.lot == lot and a.at >= self.asked_since)
        return next(found, None)

    def disposition(self, lot: LotCode) -> Disposition | None:
        """The latest disposition of a lot."""
        return next((d for d in reversed(self.dispositions) if d.lot == lot), None)


ACTS: Final[tuple[StandardAct, ...]] = get_args(StandardAct)
