"""Folds readings into the health of every probe of a kitchen."""

from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import islice
from typing import Final

from orchestrator.core.ids import ProbeId
from orchestrator.core.models import Band, Probe, Target
from orchestrator.core.models.health import HealthFinding
from orchestrator.ports.event_log import Reading
from orchestrator.thermal.health import Expected, Finding, OneProbe, ProbeClock, Sign, Together, one_cause
from orchestrator.thermal.health.drift import Drift
from orchestrator.thermal.health.places import cooling_food, idle_food, store_air, warming_food
from orchestrator.thermal.health.signs import median

_HOT_AIR: Final = Expected()
_IDLE: Final = idle_food()
_LATE_S: Final = 60.0
"""Of a probe that is later than this, the others are asked whether they are, too."""
_ASKED: Final = 32


@dataclass(slots=True)
class _One:
    probe: Probe
    still: Expected | None
    """What is expected whatever goes on; none: it depends on the step in hand."""
    itself: OneProbe = field(default_factory=OneProbe)
    clock: ProbeClock = field(default_factory=ProbeClock)
    found: tuple[Finding, ...] = ()
    told: tuple[HealthFinding, ...] = ()


class HealthWatch:
    """All probes of a kitchen; what is kept of each is of fixed size."""

    def __init__(self, boiling_c: float) -> None:
        """No probe is known yet.

        Args:
            boiling_c: where water boils in this kitchen.
        """
        self._boiling_c = boiling_c
        self._all: dict[ProbeId, _One] = {}
        self._together = Together()

    def place(self, probe: Probe, band: Band | None) -> None:
        """Where a probe sits; moved elsewhere, it is judged anew."""
        known = self._all.get(probe.id)
        if known is not None and (known.probe.equipment, known.probe.reads) == (probe.equipment, probe.reads):
            return
        still = None
        if probe.reads == "air":
            still = _HOT_AIR if band is None else store_air(band.low, band.high)
        self._all[probe.id] = _One(probe, still)
        self._together.place(probe.id, probe.equipment if probe.reads == "air" else "")

    def checked(self, probe: ProbeId) -> None:
        """It was checked, or has an offset from now on: drift counts from here."""
        self._together.checked(probe)

    def restore(self, probe: ProbeId, drift: Drift) -> None:
        """How it had moved against its neighbours before a restart."""
        self._together.restore(probe, drift)

    def fold(self, reading: Reading, target: Target | None) -> None:
        """Take one reading, also one that came out of turn.

        Args:
            reading: of a probe that has a place.
            target: of the step in hand there, for a probe in its food.
        """
        one = self._all[reading.probe]
        second = reading.judged_at.timestamp()
        self._clock(one, reading)
        expected = one.still or self._food(reading.celsius, target)
        beside = self._together.beside(reading.probe, second) if one.still is not None else None
        one.itself.fold(second, reading.celsius, expected, beside=beside, battery_percent=reading.battery_percent)
        self._together.fold(reading.probe, second, reading.celsius, expected)

    def _clock(self, one: _One, reading: Reading) -> None:
        usual, lag = 0.0, one.clock.lag_s
        if lag is not None and lag > _LATE_S:
            # A slow line, or a clock that runs fast for practice, makes all of them late.
            others = (o.clock.lag_s for o in islice(self._all.values(), _ASKED) if o is not one)
            lags = [late for late in others if late is not None]
            usual = median(lags) if lags else 0.0
        measured_s, received_s = reading.measured_at.timestamp(), reading.recorded_at.timestamp()
        one.clock.fold(measured_s, received_s, seq=reading.seq, usual_lag_s=usual)

    def _food(self, celsius: float, target: Target | None) -> Expected:
        if target is None:
            return _IDLE
        if target.at_least is not None:
            return warming_food(celsius, target.at_least, self._boiling_c)
        assert target.at_most is not None  # a target has one bound
        return cooling_food(celsius, target.at_most, self._boiling_c)

    def findings(self, probe: ProbeId) -> tuple[HealthFinding, ...]:
        """What is wrong with a probe; what was told already is told in the same numbers until it means something else,
        so that a finding that only grows makes no news."""
        one = self._all[probe]
        found = one_cause((*one.itself.findings(), *one.clock.findings(), *self._together.findings(probe)))
        if not found:
            one.found = one.told = ()
        elif [_meaning(f) for f in found] != [_meaning(f) for f in one.found]:
            one.found, one.told = found, tuple(_told(f) for f in found)
        return one.told

    def cannot_say(self, probe: ProbeId) -> tuple[tuple[Sign, str], ...]:
        """What nobody can know of it, and why, as keys."""
        one = self._all[probe]
        return (*one.itself.cannot_say(), *one.clock.cannot_say(), *self._together.cannot_say(probe))


def _meaning(finding: Finding) -> tuple[str, str, str]:
    return finding.sign, finding.hint, finding.other


def _told(finding: Finding) -> HealthFinding:
    return HealthFinding(
        sign=finding.sign,
        since=datetime.fromtimestamp(finding.since_s, UTC),
        amount=round(finding.amount, 3),
        limit=round(finding.limit, 3),
        unit=finding.unit,
        hint=finding.hint,
        other=ProbeId(finding.other) if finding.other else None,
    )
