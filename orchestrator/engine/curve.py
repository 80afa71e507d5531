"""All that is kept of one probe's curve."""

from dataclasses import dataclass, field
from datetime import datetime

from orchestrator.core.ids import TaskId
from orchestrator.core.models import Band, Probe
from orchestrator.core.models.health import HealthFinding
from orchestrator.core.models.probe_fact import Spell
from orchestrator.core.models.verdict import Kept
from orchestrator.core.state import State
from orchestrator.engine.estimating import Foretold
from orchestrator.engine.in_hand import InHand
from orchestrator.engine.limit_watch import LimitWatch
from orchestrator.ports.event_log import Reading
from orchestrator.thermal.cooling import TwoLegCooling
from orchestrator.thermal.estimates import PaceRecorder
from orchestrator.thermal.hold import Hold
from orchestrator.thermal.settling import Settling
from orchestrator.thermal.trend import Trend


def settling_in(band: Band | None) -> Settling | None:
    """What tells when a store is clearly back in its band."""
    return None if band is None else Settling(band.high, band.low, band.deadband_c, band.off_delay)


@dataclass(slots=True)
class Curve:
    """One probe's, folded so far; of bounded size."""

    probe: Probe
    band: Band | None
    settling: Settling | None
    trend: Trend = field(default_factory=Trend)
    last: Reading | None = None
    """As it was judged: `measured_at` is `Reading.judged_at`."""
    judged_until: datetime | None = None
    """How far food, stays and defrosts were folded when the kitchen's clock was set back: a curve runs forward only, so
    they wait until it is later than that, and what lies between is a gap to them. Bands are watched meanwhile."""
    counted_from: datetime | None = None
    """Since when silence is counted where the last reading lies in the future of a clock that was set back."""
    minute: float = 0.0
    """Of the last reading."""
    seen: State | None = None
    """The state in which it was last looked for what is in hand: while that is the same, so is this."""
    task: TaskId | None = None
    begun_at: datetime | None = None
    in_food: bool = True
    """False from the start of a step that cools until something warmer than its target is seen: until then the probe
    may still be in the empty ice bath, whose cold must not pass for the food's."""
    hold: Hold | None = None
    cooling: TwoLegCooling | None = None
    late_leg_c: float | None = None
    """The leg of the cooling, by what it must reach, of which "will be late" was the last word."""
    foretold: Foretold | None = None
    recorder: PaceRecorder | None = None
    """Of a step that is on its way, where the next run can learn from it."""
    limit: LimitWatch | None = None
    aim_only: bool = False
    """Whether its target is only what its limit asks for."""
    deadline: datetime | None = None
    """The longest end of the step in hand."""
    expected_end: datetime | None = None
    silent_since: datetime | None = None
    heard_since: datetime | None = None
    outside_since: datetime | None = None
    worst_c: float | None = None
    defrosting: bool = False
    kept: tuple[Kept, ...] = ()
    health: tuple[HealthFinding, ...] = ()
    cannot_say: tuple[tuple[str, str], ...] = ()
    offset_c: float = 0.0
    in_hand: InHand | None = None
    doubted_since: datetime | None = None
    """Since when in this step the probe may not be believed; none while it may."""
    spell: Spell | None = None
    counts_from: datetime | None = None
    """From when on readings count for the step again, where the kitchen's clock was set back."""

    def set_back(self, at: datetime, minute: float) -> None:
        """The kitchen's clock was set back: its curve begins anew at a time that is not later than now."""
        assert self.last is not None
        passed = self.last.measured_at
        self.judged_until = passed if self.judged_until is None else max(passed, self.judged_until)
        self.last = None
        self.trend.clear()
        self.defrosting = False
        if self.outside_since is not None:
            self.outside_since = min(self.outside_since, at)
        if self.settling is not None:
            self.settling.set_back(minute)

    @property
    def warm(self) -> bool:
        """Whether the newest reading is warmer than what a step that cools is to reach."""
        return self.hold is None or self.last is None or self.last.celsius > self.hold.target_c

    @property
    def waits(self) -> bool:
        """Whether anybody may ask yet when a temperature is expected; an estimate that nobody asks for is not fed."""
        if self.hold is not None and self.hold.reached_at is None:
            return True
        return (self.cooling is not None and self.cooling.waits) or (self.limit is not None and self.limit.waits)
