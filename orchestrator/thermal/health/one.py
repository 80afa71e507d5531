"""One probe by itself: stuck, noisy, changing impossibly fast, in the wrong unit, battery low.

Every figure without a source is ours, chosen on simulated curves: healthy ones (doors, defrosts, a probe carried from a
pan into an ice bath, plateaus, coarse steps) must stay without a finding.
"""

import math
from collections import deque
from itertools import compress, product
from typing import Final

from orchestrator.thermal.health.scatter import LastFew, Scatter
from orchestrator.thermal.health.signs import Expected, Finding, Latch, Sign

KEPT: Final = 20
"""Readings that are looked back at."""
STUCK_MOVING_MIN: Final = 10.0
SLOWEST_PER_MIN: Final = 0.02
"""Food that is heated or cooled, far from its target, and reads the very same for so long, or for as long as a probe of
coarse steps may take at the slowest rate."""
STUCK_BESIDE: Final = 2.0
"""Degrees that a neighbour in the same air moves meanwhile."""
STUCK_FINE_MIN: Final = 120.0
STUCK_COARSE_MIN: Final = 720.0
"""Air of a store that cycles: by a probe that resolves a tenth of a degree; by one that does not, or never changed."""
FINE: Final = 0.11
COARSEST_C: Final = 1.0
"""Step of a probe that never changed yet."""
NOISY_ON: Final = 2.0
NOISY_OFF: Final = 1.2
"""Scatter as a standard deviation, degrees. A food thermometer is good to 1 °C: FDA Food Code 2022, 4-203.11."""
FEWEST: Final = 15
SPIKE_AIR: Final = 15.0
SPIKE_CORE: Final = 25.0
SPIKES_ON: Final = 5
"""So many readings of the last 20 that stand alone, away from both neighbours: a loose contact."""
JUMPS_ON: Final = 2
SETTLING_C: Final = 3.0
"""On top of what the rate allows: steps of the display, noise."""
FASTEST_PROBE_S: Final = 2.0
"""Time constant that no food probe undercuts: so it cannot follow faster, whatever it is put into."""
COLDEST_PLACE_C: Final = -60.0
HOTTEST_PLACE_C: Final = 320.0
GAP_S: Final = 600.0
UNIT_OFF_C: Final = 8.0
"""How far outside the usual a store must read from the start, to be suspected of another unit."""
UNIT_FIT_C: Final = 2.5
LEAP_FIT_C: Final = 8.0
"""How much the air may have changed meanwhile, by a door."""
LEAP_C: Final = 25.0
LEAP_S: Final = 3600.0
FALL_C: Final = 12.0
FALL_BELOW_C: Final = 5.0
"""So far the air of a store does not get within the hour by any door or defect, nor down so far and so much colder
than it is ever kept: only another unit explains it."""
BATTERY_ON: Final = 20.0
BATTERY_OFF: Final = 30.0

F_AS_C: Final = "fahrenheit as celsius"
C_AS_F: Final = "celsius as fahrenheit"


class OneProbe:
    """Follows one probe; a reading costs the same after a year as after an hour."""

    def __init__(self) -> None:
        self._tail: deque[tuple[float, float]] = deque(maxlen=KEPT)
        self._scatter, self._jumps, self._spikes = Scatter(KEPT), LastFew(KEPT), LastFew(KEPT)
        self._same_since = self._moving_since = 0.0
        self._same_count = 0
        self._beside: float | None = None
        self._resolution = math.inf
        self._battery: float | None = None
        self._been_usual = False
        self._suspect = ""
        self._unit_hint = ""
        self._is_stuck, self._is_noisy, self._is_too_fast = Latch(1, 3), Latch(15, 10), Latch(1, 1)
        self._is_mistaken, self._is_low = Latch(5, 10), Latch(2, 2)

    def fold(
        self,
        second: float,
        celsius: float,
        expected: Expected,
        *,
        beside: float | None = None,
        battery_percent: float | None = None,
    ) -> None:
        """Take one reading.

        Args:
            second: when it was measured; one that is not later than the last changes nothing.
            celsius: the reading.
            expected: what can and should be there now.
            beside: what neighbours in the same air say, °C.
            battery_percent: charge, if the probe tells it.
        """
        if battery_percent is not None:
            self._battery = battery_percent
            low = True if battery_percent <= BATTERY_ON else False if battery_percent >= BATTERY_OFF else None
            self._is_low.fold(second, low)
        before = self._tail[-1] if self._tail else None
        if before is not None and second <= before[0]:
            return
        if before is not None and second - before[0] > GAP_S:
            self._forget()
        self._tail.append((second, celsius))
        jumped = self._rate(second, celsius, before, expected)
        leapt = before is not None and (jumped or _leapt(before, (second, celsius), expected))
        self._unit(second, celsius, before if leapt else None, expected)
        self._stuck(second, celsius, before, expected, beside)
        self._noise(second, expected)

    def _forget(self) -> None:
        """After a silence the old tail says nothing about scatter."""
        self._tail.clear()
        self._scatter.clear()
        self._spikes.clear()

    def _stuck(
        self,
        second: float,
        celsius: float,
        before: tuple[float, float] | None,
        expected: Expected,
        beside: float | None,
    ) -> None:
        if not expected.moving:
            self._moving_since = second
        if before is None or celsius != before[1]:
            if before is not None:
                self._resolution = min(self._resolution, abs(celsius - before[1]))
            self._same_since, self._same_count, self._beside = second, 0, beside
        self._same_count += 1
        if self._beside is None:
            self._beside = beside
        bad = self._same_count >= KEPT // 2 and self._still_too_long(second, expected, beside)
        self._is_stuck.fold(second, bad)

    def _still_too_long(self, second: float, expected: Expected, beside: float | None) -> bool:
        still_min = (second - self._same_since) / 60.0
        moving_min = (second - max(self._same_since, self._moving_since)) / 60.0
        coarse = min(self._resolution, COARSEST_C)
        if expected.moving and moving_min >= max(STUCK_MOVING_MIN, coarse / SLOWEST_PER_MIN):
            return True
        if beside is not None and self._beside is not None and abs(beside - self._beside) >= STUCK_BESIDE:
            return still_min >= STUCK_MOVING_MIN
        return expected.cycles and still_min >= (STUCK_FINE_MIN if self._resolution <= FINE else STUCK_COARSE_MIN)

    def _noise(self, second: float, expected: Expected) -> None:
        """Scatter about the line between the readings before and after: a curve bends one way, noise both."""
        if len(self._tail) < 3:
            return
        (t0, c0), (t1, c1), (t2, c2) = self._tail[-3], self._tail[-2], self._tail[-1]
        share = (t1 - t0) / (t2 - t0)
        if not 0.2 <= share <= 0.8:
            return
        off = c1 - (c0 + share * (c2 - c0))
        self._scatter.push(off / math.sqrt(1.0 + share**2 + (1.0 - share) ** 2))
        lone = SPIKE_CORE if expected.fastest_per_min is None else SPIKE_AIR
        self._spikes.push(abs(off) >= lone and abs(c2 - c0) < 0.25 * abs(off))
        if len(self._scatter) < FEWEST:
            return
        scatter = self.scatter_c
        bad = scatter >= NOISY_ON or self._spikes.many >= SPIKES_ON
        well = scatter <= NOISY_OFF and self._spikes.many == 0
        self._is_noisy.fold(second, True if bad else False if well else None)

    @property
    def scatter_c(self) -> float:
        """Standard deviation of single readings, °C, robust to a few that stand out; 0 while they bend one way only."""
        return self._scatter.deviation if len(self._scatter) >= FEWEST else 0.0

    def _rate(self, second: float, celsius: float, before: tuple[float, float] | None, expected: Expected) -> bool:
        if before is None:
            return False
        step_s = second - before[0]
        jumped = not _possible(before[1], celsius, step_s, expected.fastest_per_min)
        self._jumps.push(jumped)
        many = self._jumps.many
        self._is_too_fast.fold(second, True if many >= JUMPS_ON else False if many == 0 else None)
        return jumped

    def _unit(self, second: float, celsius: float, jumped_from: tuple[float, float] | None, expected: Expected) -> None:
        """Readings that fit once they are taken for the other unit, and do not as they are."""
        if jumped_from is not None:
            self._suspect = self._step_between_units(jumped_from[1], celsius)
        usual = _usual(celsius, expected, 0.5 * UNIT_FIT_C)
        self._been_usual = self._been_usual or usual
        if usual and not self._suspect and expected.low <= celsius <= expected.high:
            self._is_mistaken.fold(second, False)
            return
        hint = _which_unit(celsius, expected.low, expected.high)
        low, high = expected.usual_low, expected.usual_high
        if not hint and high is not None and not self._been_usual and low is not None:
            far = celsius > high + UNIT_OFF_C or celsius < low - UNIT_OFF_C
            hint = _which_unit(celsius, low - 0.5 * UNIT_FIT_C, high + 0.5 * UNIT_FIT_C) if far else ""
        hint = hint or ("" if usual else self._suspect)
        if hint:
            self._unit_hint = hint
        elif usual:
            self._suspect = ""
        self._is_mistaken.fold(second, bool(hint))

    def _step_between_units(self, before: float, after: float) -> str:
        """Which change of unit a jump fits; the old suspicion where it fits none, nothing where it leads back."""
        if abs((after - 32.0) / 1.8 - before) <= LEAP_FIT_C:
            return "" if self._suspect == C_AS_F else F_AS_C
        if abs(1.8 * after + 32.0 - before) <= LEAP_FIT_C:
            return "" if self._suspect == F_AS_C else C_AS_F
        return self._suspect

    def findings(self) -> tuple[Finding, ...]:
        """Everything that is wrong by now; empty when nothing is known to be."""
        stuck, noisy, fast, mistaken, low = (
            self._is_stuck, self._is_noisy, self._is_too_fast, self._is_mistaken, self._is_low,
        )  # fmt: skip
        if not (stuck.on or noisy.on or fast.on or mistaken.on or low.on):
            return ()
        latches = zip(_SIGNS, (stuck, noisy, fast, mistaken, low), strict=True)
        return tuple(self._finding(sign, latch) for sign, latch in latches if latch.on)

    def _finding(self, sign: Sign, latch: Latch) -> Finding:
        now, value = self._tail[-1] if self._tail else (latch.since_s, 0.0)
        if sign is Sign.STUCK:
            return Finding(sign, self._same_since, (now - self._same_since) / 60.0, STUCK_MOVING_MIN, "minutes")
        if sign is Sign.NOISY:
            many = self._spikes.many
            if many >= SPIKES_ON:
                return Finding(sign, latch.since_s, float(many), float(SPIKES_ON), "times", "spikes")
            return Finding(sign, latch.since_s, self.scatter_c, NOISY_ON, "degrees", "scatter")
        if sign is Sign.IMPOSSIBLE_RATE:
            return Finding(sign, latch.since_s, float(self._jumps.many), float(JUMPS_ON), "times")
        if sign is Sign.UNIT_MISTAKEN:
            true = (value - 32.0) / 1.8 if self._unit_hint == F_AS_C else 1.8 * value + 32.0
            return Finding(sign, latch.since_s, value, true, "degrees", self._unit_hint)
        return Finding(sign, latch.since_s, self._battery or 0.0, BATTERY_ON, "percent")

    def cannot_say(self) -> tuple[tuple[Sign, str], ...]:
        """What nobody can know yet, and why, as a key."""
        few, never, untold = len(self._scatter) < FEWEST, self._resolution == math.inf, self._battery is None
        return _CANNOT_SAY[few, never, untold]


_SIGNS: Final = (Sign.STUCK, Sign.NOISY, Sign.IMPOSSIBLE_RATE, Sign.UNIT_MISTAKEN, Sign.BATTERY_LOW)
_UNKNOWN: Final = ((Sign.NOISY, "few readings"), (Sign.STUCK, "never changed"), (Sign.BATTERY_LOW, "not told"))
_CANNOT_SAY: Final = {so: tuple(compress(_UNKNOWN, so)) for so in product((True, False), repeat=3)}
"""By whether there are few readings, it never changed, and its battery was not told."""


def _possible(before: float, after: float, step_s: float, fastest_per_min: float | None) -> bool:
    """Whether a change can be: by the rate of the place's air, else by how fast any probe follows anything."""
    if abs(after - before) <= SETTLING_C:
        return True
    if fastest_per_min is not None:
        return abs(after - before) <= fastest_per_min * step_s / 60.0 + SETTLING_C
    follows = 1.0 - math.exp(-step_s / FASTEST_PROBE_S)
    warmest = before + max(HOTTEST_PLACE_C - before, 0.0) * follows
    coldest = before + min(COLDEST_PLACE_C - before, 0.0) * follows
    return coldest - SETTLING_C <= after <= warmest + SETTLING_C


def _leapt(before: tuple[float, float], now: tuple[float, float], expected: Expected) -> bool:
    if expected.fastest_per_min is None or now[0] - before[0] > LEAP_S:
        return False
    low = expected.usual_low
    fell = low is not None and now[1] < low - FALL_BELOW_C and before[1] - now[1] > FALL_C
    return fell or abs(now[1] - before[1]) > LEAP_C


def _usual(celsius: float, expected: Expected, spare: float) -> bool:
    low, high = expected.usual_low, expected.usual_high
    return low is not None and high is not None and low - spare <= celsius <= high + spare


def _which_unit(celsius: float, low: float, high: float) -> str:
    """The likelier mistake for a value that cannot be between the bounds; empty when it can, or when neither fits."""
    if low <= celsius <= high:
        return ""
    as_f, as_c = (celsius - 32.0) / 1.8, 1.8 * celsius + 32.0
    fits_f, fits_c = low <= as_f <= high, low <= as_c <= high
    if fits_f and fits_c:
        middle = (low + high) / 2.0
        return F_AS_C if abs(as_f - middle) <= abs(as_c - middle) else C_AS_F
    return F_AS_C if fits_f else C_AS_F if fits_c else ""
