"""What a probe's curve means: the one thing about temperatures that is put on record."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import EquipmentId, ProbeId, TaskId
from orchestrator.core.models.base import Model
from orchestrator.core.models.health import HealthFinding, doubts
from orchestrator.core.models.verdict import Kept, LimitVerdict


class Spell(Model):
    """A time that a store was outside its band, now over."""

    since: AwareDatetime
    until: AwareDatetime
    worst_c: float


class ProbeFact(Model):
    """What the curve of one probe means at this moment; see `thermal`."""

    probe: ProbeId
    equipment: EquipmentId
    task: TaskId | None = None
    """The task whose target it judges, if one is in hand there."""
    celsius: float | None = None
    measured_at: AwareDatetime | None = None
    slope_c_per_min: float | None = None
    silent_since: AwareDatetime | None = None
    outside_since: AwareDatetime | None = None
    """Since when a store has been outside its band, without a break."""
    unsettled_since: AwareDatetime | None = None
    """Since when a store has been outside, or not clearly back inside (deadband, off-delay): one spell, one alarm."""
    heard_since: AwareDatetime | None = None
    """Since when it has been heard again after a silence; none while silent, or when it never was."""
    worst_c: float | None = None
    """Furthest outside since then."""
    spell: Spell | None = None
    """The last time that it was outside, if it is not any more."""
    reached_at: AwareDatetime | None = None
    """When the target was first reached in this task."""
    held_min: float = 0.0
    """Longest unbroken time at the target so far."""
    met_at: AwareDatetime | None = None
    """When reached and held as long as asked."""
    ceiling_broken_at: AwareDatetime | None = None
    arrival_from: AwareDatetime | None = None
    arrival_to: AwareDatetime | None = None
    """Interval of 90 % in which the target is expected; none when it cannot be known."""
    no_arrival: str = ""
    """Why there is none, in words; empty where there is one, or nothing to wait for."""
    earlier_runs: int = 0
    """How many earlier runs of the step in its place the interval leans on, beside the curve."""
    expected_end: AwareDatetime | None = None
    """When the target is likely met; kept as it was until the estimate has clearly moved, so that plans stay calm."""
    cooling: Literal["", "on course", "will be late", "first leg missed", "second leg missed", "met"] = ""
    """Two-leg cooling of a chill step."""

    verdict: LimitVerdict | None = None
    """Of the step's limit."""
    kept: tuple[Kept, ...] = ()
    """Of the limits of stays in its place, and of work without a target."""
    defrosting: bool = False
    """Of the air of a freezer: it is above its band because a defrost was due; that does not count as outside."""
    health: tuple[HealthFinding, ...] = ()
    """What is known to be wrong with the probe."""
    cannot_say: tuple[tuple[str, str], ...] = ()
    """What cannot be known of it, and why, as keys; never put on record for its own sake."""
    counts_from: AwareDatetime | None = None
    """The kitchen's clock was set back: what it says counts for the step again from then on; never put on record for
    its own sake."""
    offset_c: float = 0.0
    """Confirmed by a person, and in ``celsius`` already."""

    @property
    def believable(self) -> bool:
        """Whether what it says may be acted on."""
        return not doubts(self.health)

    def meaning(self) -> tuple[object, ...]:
        """What makes a difference to decisions: the fact is put on record when this changes."""
        return (
            self.task,
            self.silent_since is not None,
            self.outside_since,
            self.unsettled_since,
            self.reached_at,
            self.met_at,
            self.ceiling_broken_at,
            self.cooling,
            None if self.verdict is None else (self.verdict.status, self.verdict.row, self.verdict.within_tolerance),
            self.expected_end,
            tuple((one.task, one.verdict.status, one.verdict.within_tolerance) for one in self.kept),
            self.defrosting,
            tuple((finding.sign, finding.hint, finding.other) for finding in self.health),
            self.offset_c,
        )
