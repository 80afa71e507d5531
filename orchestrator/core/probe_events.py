"""What has happened to probes: checked, corrected, put elsewhere, washed."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId, EquipmentId, LotCode, ProbeId, TaskId
from orchestrator.core.models.base import Model

CheckPoint = Literal["ice", "boiling", "reference"]


class ProbeChecked(Model):
    """A named person held a probe into something whose temperature is known."""

    kind: Literal["probe_checked"] = "probe_checked"
    probe: ProbeId
    at: AwareDatetime
    person: CrewId
    point: CheckPoint
    expected_c: float
    """Of ice water, of boiling water at the kitchen's altitude, or by the reference thermometer."""
    shown_c: float
    """What the probe said, with any offset that it had then."""
    tolerance_c: float
    source: str
    """Of the tolerance."""
    passed: bool
    altitude_m: float | None = None
    """By which the boiling point was worked out."""
    doubt_since: AwareDatetime | None = None
    """Of a failed check: since the last good one; none where there never was one."""
    in_doubt: tuple[LotCode, ...] = ()
    """Of a failed check: every lot judged by the probe since then."""

    @property
    def error_c(self) -> float:
        """By how much it reads too high."""
        return self.shown_c - self.expected_c


class ProbeOffsetApplied(Model):
    """From now on so much is added to what a probe says; a person confirmed it. 0 takes an offset away."""

    kind: Literal["probe_offset_applied"] = "probe_offset_applied"
    probe: ProbeId
    at: AwareDatetime
    person: CrewId
    offset_c: float
    before_c: float = 0.0


class ProbeAssigned(Model):
    """A probe sits elsewhere from now on."""

    kind: Literal["probe_assigned"] = "probe_assigned"
    probe: ProbeId
    at: AwareDatetime
    person: CrewId | None
    equipment: EquipmentId
    task: TaskId | None = None
    """The task whose food it is in; none: whatever is in hand there."""
    reads: Literal["core", "air"]
    before: EquipmentId


class ProbeWashAsked(Model):
    """A probe has gone from food with an allergen into food without: somebody says that it was washed and sanitised."""

    kind: Literal["probe_wash_asked"] = "probe_wash_asked"
    probe: ProbeId
    at: AwareDatetime
    task: TaskId
    lot: LotCode
    """That it goes into."""
    after: tuple[LotCode, ...]
    """That it was in since it was last washed."""
    allergens: tuple[str, ...]
    """That those have and this one has not."""


class ProbeWashed(Model):
    """Somebody says that a probe was washed and sanitised."""

    kind: Literal["probe_washed"] = "probe_washed"
    probe: ProbeId
    at: AwareDatetime
    person: CrewId


ProbeEvent = ProbeChecked | ProbeOffsetApplied | ProbeAssigned | ProbeWashAsked | ProbeWashed
