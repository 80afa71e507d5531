"""What a curve says of a limit: the words of a verdict, and which of several is the worst.

Every fold counts in seconds on any common scale and in degrees of one unit, the one whose column of the limit applies;
thermal knows no units and no codes. Instants are compared to the microsecond, so that a hold of 25 s is 25 s.
"""

from collections.abc import Mapping
from typing import Final, Literal, NamedTuple, Protocol, runtime_checkable

from orchestrator.thermal.trend import Arrival

Status = Literal["met", "not yet", "will not be met in time", "broken", "not judged"]
WORST_FIRST: Final[tuple[Status, ...]] = ("broken", "will not be met in time", "not judged", "not yet", "met")
Point = tuple[float, float]
"""Second and degrees of a reading."""

FOOD_THERMOMETER_C: Final = 1.0
FOOD_THERMOMETER_F: Final = 2.0
"""Accuracy asked of food thermometers, to either side. Source: FDA Food Code 2022, 4-203.11: ±1 °C (°C or dual scale),
±2 °F (°F scale)."""


class LegReached(NamedTuple):
    """A leg of cooling that was reached, in time or not."""

    degrees: float
    at_s: float
    """At the latest."""
    by_s: float
    """When it had to be, counted from the earliest start that there can have been."""


class Verdict(NamedTuple):
    """What can be said of one limit at one instant. One is made with every reading, so it is the lightest there is."""

    status: Status
    row: str = ""
    """The row or leg that decided."""
    since_s: float | None = None
    """When what decided began: the hold, the clock of cooling, the time outside."""
    at_s: float | None = None
    """When it was met, or broken."""
    margin_degrees: float | None = None
    """How far on the right side; below nought on the wrong one."""
    margin_min: float | None = None
    readings: tuple[Point, ...] = ()
    """Those that decided."""
    gap: Point | None = None
    """From when to when nothing is known, where that is why it is not judged."""
    why: Literal["", "gap", "air", "no readings", "ceiling", "defrost"] = ""
    within_tolerance: bool = False
    """A thermometer off by its tolerance could have turned the verdict."""
    probe: str = ""
    legs: tuple[LegReached, ...] = ()
    """Of cooling: those reached by then, from warm to cold."""


class Fold(Protocol):
    """Takes readings one by one, at a cost that does not grow."""

    def fold(self, second: float, degrees: float) -> None:
        """Take one reading; one that is not later than the last changes nothing."""

    def waits(self, deadline_s: float | None) -> bool:
        """Whether what is said may depend on when the temperature is expected; where not, nobody need work it out.

        Args:
            deadline_s: When the step must end, if it must, and that has not passed.
        """

    def verdict(self, now_s: float, arrival: Arrival | None = None, deadline_s: float | None = None) -> Verdict:
        """What can be said at an instant.

        Args:
            now_s: Not before the last reading.
            arrival: When the next temperature asked for is expected, from the last reading.
            deadline_s: When the step must end, if it must.
        """


@runtime_checkable
class OpenFold(Protocol):
    """A fold that can tell without a closer look that it is on its way."""

    def plainly_open(self, now_s: float, arrival: Arrival | None) -> bool:
        """Whether its verdict is "not yet" for certain."""


def lasting(start: float, end: float) -> float:
    """Seconds from one instant to another, free of the hair that binary fractions add."""
    return round(end - start, 6)


class Tolerant:
    """A verdict that says whether a thermometer off by its tolerance could have turned it.

    Three folds side by side: the reading as it is, and as it would be were the thermometer off to either side.
    """

    def __init__(self, exact: Fold, low: Fold, high: Fold, tolerance: float) -> None:
        self._exact, self._low, self._high, self._tolerance = exact, low, high, tolerance
        quick = [fold.plainly_open for fold in (low, high) if isinstance(fold, OpenFold)]
        self._plainly = tuple(quick) if len(quick) == 2 else ()

    def fold(self, second: float, degrees: float) -> None:
        """Take one reading."""
        self._exact.fold(second, degrees)
        self._low.fold(second, degrees - self._tolerance)
        self._high.fold(second, degrees + self._tolerance)

    def waits(self, deadline_s: float | None) -> bool:
        """Whether any of the three waits."""
        return any(fold.waits(deadline_s) for fold in (self._exact, self._low, self._high))

    def verdict(self, now_s: float, arrival: Arrival | None = None, deadline_s: float | None = None) -> Verdict:
        """The exact fold's verdict, and whether the other two agree."""
        said = self._exact.verdict(now_s, arrival, deadline_s)
        # Most readings are on the way: the other two are looked at closely only where they may say something else.
        quick = self._plainly if said.status == "not yet" else ()
        if quick and all(plainly(now_s, arrival) for plainly in quick):
            return said
        others = {fold.verdict(now_s, arrival, deadline_s).status for fold in (self._low, self._high)}
        return said if others == {said.status} else said._replace(within_tolerance=True)


def worst(verdicts: Mapping[str, Verdict]) -> Verdict:
    """Of several probes in one food, the verdict that decides, with the probe's name.

    Args:
        verdicts: By probe; those in the food only. None at all: not judged.
    """
    if not verdicts:
        return Verdict("not judged", why="no readings")
    probe, said = min(verdicts.items(), key=lambda item: (WORST_FIRST.index(item[1].status), _margin(item[1]), item[0]))
    return said._replace(probe=probe)


def _margin(said: Verdict) -> tuple[float, float]:
    infinite = float("inf")
    return (
        infinite if said.margin_degrees is None else said.margin_degrees,
        infinite if said.margin_min is None else said.margin_min,
    )
