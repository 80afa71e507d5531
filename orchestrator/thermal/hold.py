"""Whether a curve reached a temperature and stayed there: a fold over readings."""

from dataclasses import dataclass
from typing import Literal

GAP_MIN = 5.0
"""Between readings further apart than this nothing is known, and a hold is not counted through."""


@dataclass(slots=True)
class Hold:
    """Follows one target through one step.

    Between two readings the temperature is taken as a straight line, so that crossings fall where the
    line crosses; a gap longer than `GAP_MIN` counts for nothing and begins the hold anew.
    All instants are minutes on any common scale.
    """

    target_c: float
    direction: Literal["at least", "at most"]
    hold_min: float = 0.0
    ceiling_c: float | None = None
    reached_at: float | None = None
    """First instant at the target."""
    met_at: float | None = None
    """First instant at which it had been held without a break for ``hold_min``."""
    ceiling_broken_at: float | None = None
    longest_min: float = 0.0
    """Longest unbroken time at the target so far."""
    _since: float | None = None
    _last: tuple[float, float] | None = None

    def fold(self, minute: float, celsius: float) -> None:
        """Take one reading; ``minute`` must increase."""
        inside = self._inside(celsius)
        if inside and self._since is None:
            self._since = self._crossing(minute, celsius)
            if self.reached_at is None:
                self.reached_at = self._since
        elif inside and self._last is not None and minute - self._last[0] > GAP_MIN:
            self._since = minute
        if self._since is not None:
            until = minute if inside else self._crossing(minute, celsius)
            self._count(until)
        if not inside:
            self._since = None
        if self.ceiling_c is not None and self.ceiling_broken_at is None and celsius > self.ceiling_c:
            self.ceiling_broken_at = minute
        self._last = (minute, celsius)

    def _count(self, until: float) -> None:
        assert self._since is not None
        held = until - self._since
        self.longest_min = max(self.longest_min, held)
        if self.met_at is None and held >= self.hold_min:
            self.met_at = self._since + self.hold_min

    def _inside(self, celsius: float) -> bool:
        return celsius >= self.target_c if self.direction == "at least" else celsius <= self.target_c

    def _crossing(self, minute: float, celsius: float) -> float:
        """When the line from the last reading to this one crossed the target.

        Through a gap the crossing is unknown: entering counts from this reading, leaving from the last.
        """
        if self._last is None:
            return minute
        before, was = self._last
        if minute - before > GAP_MIN:
            return minute if self._inside(celsius) else before
        if was == celsius:
            return minute
        share = (self.target_c - was) / (celsius - was)
        return before + min(1.0, max(0.0, share)) * (minute - before)
