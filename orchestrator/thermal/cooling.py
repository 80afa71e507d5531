"""Two-leg cooling of cooked food: a fold over readings.

Source: FDA Food Code 2022, 3-501.14(A): from 57 °C (135 °F) to 21 °C (70 °F) within 2 hours, and to
5 °C (41 °F) within a total of 6 hours. Local codes may ask for more; they decide.
"""

from dataclasses import dataclass
from typing import Final, Literal

from orchestrator.thermal.trend import Arrival

START_C: Final = 57.0
FIRST_LEG_C: Final = 21.0
FIRST_LEG_MIN: Final = 120.0
END_C: Final = 5.0
TOTAL_MIN: Final = 360.0

Verdict = Literal["", "on course", "will be late", "first leg missed", "second leg missed", "met"]


@dataclass(slots=True)
class TwoLegCooling:
    """Follows one chill. Instants are minutes on any common scale.

    The clock starts as the food passes 57 °C on its way down; food that is first seen below 57 °C has
    an unknown past, and the clock starts with the step (``began``), to be on the safe side.
    """

    began: float
    started: float | None = None
    first_leg_at: float | None = None
    met_at: float | None = None
    _last: tuple[float, float] | None = None

    def fold(self, minute: float, celsius: float) -> None:
        """Take one reading; ``minute`` must increase."""
        if celsius > START_C:
            self.started = None
        elif self.started is None:
            seen_hotter = self._last is not None and self._last[1] > START_C
            self.started = self._crossing(START_C, minute, celsius) if seen_hotter else min(self.began, minute)
        if self.first_leg_at is None and celsius <= FIRST_LEG_C:
            self.first_leg_at = self._crossing(FIRST_LEG_C, minute, celsius)
        if self.met_at is None and celsius <= END_C:
            self.met_at = self._crossing(END_C, minute, celsius)
        self._last = (minute, celsius)

    def forget_since(self, minute: float) -> None:
        """Take back what was reached from then on: it was read from a probe that could not be believed."""
        if self.first_leg_at is not None and self.first_leg_at >= minute:
            self.first_leg_at = None
        if self.met_at is not None and self.met_at >= minute:
            self.met_at = None

    def next_target_c(self) -> float:
        """What it has to reach next."""
        return FIRST_LEG_C if self.first_leg_at is None else END_C

    @property
    def waits(self) -> bool:
        """Whether what is said may depend on when the next temperature is expected."""
        return self.started is not None and self.met_at is None

    def verdict(self, now: float, arrival: Arrival | None, *, late_before: bool = False) -> Verdict:
        """What can be said at ``now``.

        Args:
            now: minute.
            arrival: the estimate for `next_target_c`, from the newest reading.
            late_before: whether "will be late" was the last word about this leg. It is said when even the soonest
                arrival is too late, and taken back when the likely one is in time: an estimate that breathes is one
                warning. An estimate that is lost takes nothing back.
        """
        if self.started is None:
            return ""
        first_limit = self.started + FIRST_LEG_MIN
        if (self.first_leg_at if self.first_leg_at is not None else now) > first_limit:
            return "first leg missed"
        total_limit = self.started + TOTAL_MIN
        if (self.met_at if self.met_at is not None else now) > total_limit:
            return "second leg missed"
        if self.met_at is not None:
            return "met"
        limit = first_limit if self.first_leg_at is None else total_limit
        if arrival is None or self._last is None:
            return "will be late" if late_before else "on course"
        middle = (arrival.soonest_min + arrival.latest_min) / 2 if arrival.likely_min is None else arrival.likely_min
        judged = middle if late_before else arrival.soonest_min
        return "will be late" if self._last[0] + judged > limit else "on course"

    def _crossing(self, level: float, minute: float, celsius: float) -> float:
        if self._last is None or self._last[1] <= level:
            return minute
        before, was = self._last
        return before + (was - level) / (was - celsius) * (minute - before)
