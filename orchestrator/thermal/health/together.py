"""Probes beside each other: drift against those in the same air, and two that sit in each other's place."""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Final

from orchestrator.thermal.health.drift import Drift
from orchestrator.thermal.health.signs import ANYTHING, Expected, Finding, Latch, Sign, median

KEPT: Final = 10
FRESH_S: Final = 600.0
MOST_BESIDE: Final = 8
"""So many neighbours are looked at, however many there are."""
WRONG_PLACE: Final = 2.0
WRONG_BOTH: Final = 6.0
RIGHT_PLACE: Final = 1.0
"""Misfits in degrees, the first of each, the second of both together; figures of ours."""
AGAINST_TREND: Final = 5.0
"""Misfit of a curve that goes the wrong way, as degrees."""
TURNED_PER_MIN: Final = 0.3
_ALONE: Final = ((Sign.DRIFTING, "alone"),)
_NOTHING_EXPECTED: Final = ((Sign.SWAPPED, "nothing expected"),)


@dataclass(slots=True)
class _One:
    air: str
    expected: Expected = ANYTHING
    tail: deque[tuple[float, float]] = field(default_factory=lambda: deque(maxlen=KEPT))
    drift: Drift = field(default_factory=Drift)
    swap: Latch = field(default_factory=lambda: Latch(5, 10))
    swapped_with: str = ""
    swapped_by: float = 0.0


class Together:
    """All probes of a kitchen, as far as they tell something about each other."""

    def __init__(self) -> None:
        self._all: dict[str, _One] = {}
        self._beside: dict[str, list[str]] = {}
        self._misfits: dict[str, None] = {}
        """In order of appearance."""
        self._asked: tuple[str, float, list[tuple[str, float]]] = ("", 0.0, [])
        """Whose neighbours were looked up last: what they say is asked for twice with each reading."""

    def place(self, name: str, air: str) -> None:
        """Where a probe is; ``air`` names the air it shares, empty for one in food. A move begins its drift anew."""
        known = self._all.get(name)
        if known is not None and known.air == air:
            return
        if known is not None and known.air:
            self._beside[known.air].remove(name)
        self._all[name], self._asked = _One(air), ("", 0.0, [])
        self._misfits.pop(name, None)
        if air:
            self._beside.setdefault(air, []).append(name)

    def checked(self, name: str) -> None:
        """The probe was checked, or has an offset from now on: its drift begins anew."""
        self._all[name].drift.restart()

    def drift_of(self, name: str) -> Drift:
        """How a probe stands against its neighbours."""
        return self._all[name].drift

    def restore(self, name: str, drift: Drift) -> None:
        """Its drift as it was before a restart."""
        self._all[name].drift = drift

    def beside(self, name: str, second: float) -> float | None:
        """What its neighbours in the same air say now, °C: the median; none without any that was heard lately."""
        values = [value for _, value in self._neighbours(name, second)]
        return median(values) if values else None

    def _neighbours(self, name: str, second: float) -> list[tuple[str, float]]:
        air = self._all[name].air
        if not air:
            return []
        if self._asked[:2] == (name, second):
            return self._asked[2]
        found = []
        for other in self._beside[air][:MOST_BESIDE]:
            tail = self._all[other].tail
            if other != name and tail and abs(second - tail[-1][0]) <= FRESH_S:
                found.append((other, tail[-1][1]))
        self._asked = (name, second, found)
        return found

    def fold(self, name: str, second: float, celsius: float, expected: Expected) -> None:
        """Take one reading; one that is not later than the probe's last changes nothing."""
        one = self._all[name]
        if one.tail and second <= one.tail[-1][0]:
            return
        if one.tail and second - one.tail[-1][0] > FRESH_S:
            one.tail.clear()
        one.tail.append((second, celsius))
        one.expected = expected
        near = self._neighbours(name, second)
        if near:
            # With two, each is the other's reference; with three or more the middle of all cannot be led by one.
            reference = near[0][1] if len(near) == 1 else median([celsius, *(value for _, value in near)])
            one.drift.fold(second, celsius - reference)
        self._swap(name, one, second)

    def _swap(self, name: str, one: _One, second: float) -> None:
        """Only probes that fit their own place badly are compared: there are hardly ever any."""
        own = misfit(one.tail, one.expected) if len(one.tail) == KEPT else 0.0
        if own < WRONG_PLACE:
            self._misfits.pop(name, None)
            one.swap.fold(second, False if own <= RIGHT_PLACE else None)
            return
        self._misfits[name] = None
        partner = self._partner(name, one, own)
        if partner:
            one.swapped_with, one.swapped_by = partner, own
        one.swap.fold(second, True if partner else None)

    def _partner(self, name: str, one: _One, own: float) -> str:
        for other in islice((n for n in self._misfits if n != name), MOST_BESIDE):
            them = self._all[other]
            theirs = misfit(them.tail, them.expected)
            if own + theirs < WRONG_BOTH:
                continue
            if misfit(one.tail, them.expected) <= RIGHT_PLACE and misfit(them.tail, one.expected) <= RIGHT_PLACE:
                return other
        return ""

    def findings(self, name: str) -> tuple[Finding, ...]:
        """What its neighbours say of a probe."""
        one = self._all[name]
        if not (one.drift.found or one.swap.on):
            return ()
        found, beside = [], self._beside.get(one.air, []) if one.air else []
        near = [other for other in beside if other != name] if len(beside) == 2 else []
        drifts = one.drift.finding(near[0], "one of two") if len(near) == 1 else one.drift.finding()
        if drifts is not None:
            found.append(drifts)
        if one.swap.on:
            swap = Finding(
                Sign.SWAPPED, one.swap.since_s, one.swapped_by, WRONG_PLACE, "degrees", other=one.swapped_with
            )
            found.append(swap)
        return tuple(found)

    def cannot_say(self, name: str) -> tuple[tuple[Sign, str], ...]:
        """A probe alone in its air has nothing to drift against; one without a usual place cannot be swapped."""
        one = self._all[name]
        alone = len(self._beside.get(one.air, ())) < 2
        nothing_expected = one.expected.usual_low is None and one.expected.trend == 0
        return (_ALONE if alone else ()) + (_NOTHING_EXPECTED if nothing_expected else ())


def misfit(tail: Sequence[tuple[float, float]], expected: Expected) -> float:
    """How badly a curve fits a place, as degrees outside its usual range; 0 for one that fits, or without a range."""
    low, high = expected.usual_low, expected.usual_high
    outside = 0.0
    if low is not None and high is not None:
        off = [low - celsius if celsius < low else celsius - high for _, celsius in tail if not low <= celsius <= high]
        if 2 * len(off) >= len(tail):  # else the middle one is inside
            outside = median([0.0] * (len(tail) - len(off)) + off)
    (first_s, first), (last_s, last) = tail[0], tail[-1]
    slope = 0.0 if last_s <= first_s else (last - first) / (last_s - first_s) * 60.0
    against = expected.trend != 0 and slope * expected.trend < -TURNED_PER_MIN
    return outside + (AGAINST_TREND if against else 0.0)
