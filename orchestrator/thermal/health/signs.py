"""What may be wrong with a probe, what is expected where it sits, and the latch against flickering."""

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Literal

Unit = Literal["degrees", "degrees a minute", "minutes", "percent", "times", ""]


class Sign(StrEnum):
    """A way in which a probe goes wrong."""

    STUCK = "stuck"
    NOISY = "noisy"
    DRIFTING = "drifting"
    IMPOSSIBLE_RATE = "impossible rate"
    UNIT_MISTAKEN = "unit mistaken"
    CLOCK_WRONG = "clock wrong"
    BATTERY_LOW = "battery low"
    SWAPPED = "swapped"
    CHECK_FAILED = "check failed"
    """Off by more than its tolerance at the last check, and no offset confirmed since."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong, in numbers."""

    sign: Sign
    since_s: float
    """Since when, in seconds on the scale of the readings."""
    amount: float
    """What was seen."""
    limit: float
    """From where on it is told."""
    unit: Unit
    """Of both; degrees are Celsius degrees."""
    hint: str = ""
    """Which way, such as ``fahrenheit as celsius`` or ``behind``; empty where there is only one."""
    other: str = ""
    """The other probe, where there is one."""


def one_cause(found: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """The same findings, with a probe that may be swapped and may be in the wrong unit told once.

    Either explains what it reads and the readings do not tell which: 2 °C in a freezer are the fridge's, or -17 °C
    sent in Fahrenheit. A swap explains its neighbour's as well, so it stands first; the unit is its hint, and what the
    value would be in it its ``limit``.
    """
    swap = next((f for f in found if f.sign is Sign.SWAPPED), None)
    unit = next((f for f in found if f.sign is Sign.UNIT_MISTAKEN), None)
    if swap is None or unit is None:
        return found
    both = replace(swap, since_s=min(swap.since_s, unit.since_s), limit=unit.limit, hint=f"or {unit.hint}")
    return tuple(both if f is swap else f for f in found if f is not unit)


@dataclass(frozen=True, slots=True)
class Expected:
    """What can be, and what should be, where a probe sits; °C. It is the caller who knows place and step."""

    low: float = -60.0
    high: float = 320.0
    """No food or air is outside these there."""
    usual_low: float | None = None
    usual_high: float | None = None
    """Where it is when all is well; none: nobody can say."""
    moving: bool = False
    """It must change by now: food on a fire or in an ice bath, far from its target and from any plateau."""
    trend: Literal[-1, 0, 1] = 0
    """Which way it should go; 0: either."""
    fastest_per_min: float | None = None
    """Of air in a store: faster it cannot change. None: a probe that may be carried from a pan into an ice bath."""
    cycles: bool = False
    """Air whose cooling goes on and off: never the very same for hours."""


ANYTHING = Expected()


@dataclass(slots=True)
class Latch:
    """On after so many readings that say so, off after so many that say it is over; what lies between does nothing."""

    on_after: int
    off_after: int
    on: bool = False
    since_s: float = 0.0
    _run: int = field(default=0)
    _first_s: float = field(default=0.0)

    def fold(self, second: float, bad: bool | None) -> bool:
        """Take what one reading says: True bad, False well, None neither. Returns whether it is on now."""
        if bad is self.on:
            self._run = 0
            return self.on
        if bad is None:
            return self.on
        if self._run == 0:
            self._first_s = second
        self._run += 1
        if self._run >= (self.off_after if self.on else self.on_after):
            self.on, self._run = bad, 0
            self.since_s = self._first_s
        return self.on

    def on_at_once(self, second: float) -> None:
        """One reading is enough: it says what cannot be chance."""
        if not self.on:
            self.on, self.since_s = True, second
        self._run = 0


def median(values: list[float]) -> float:
    """The middle one; of an even number the mean of both. Empty lists are the caller's mistake."""
    ordered = sorted(values)
    middle = len(ordered) // 2
    return ordered[middle] if len(ordered) % 2 else (ordered[middle - 1] + ordered[middle]) / 2.0
