"""An estimator that has seen the same step done in the same place before."""

import math
from typing import Final

from orchestrator.thermal.estimates.clock import Estimator
from orchestrator.thermal.trend import Arrival

_DOUBTED_AFTER: Final = 2.0
"""Earlier runs that weigh as much as what curves of this kind are like anywhere."""


class Recalled:
    """Two estimators on one curve: one that knows only what such curves are like, one by earlier runs.

    The more earlier runs there are the more they count, and the less the further the present curve is from them; where
    both differ the interval is as wide as that.
    """

    def __init__(self, plain: Estimator, known: Estimator, runs: int) -> None:
        self._plain, self._known, self._runs = plain, known, runs
        self.why_none = plain.why_none
        """Why the newest `arrival` was none; empty when there was one."""
        self.raw = (0.0, 0.0)
        """Logarithm of the wait and its spread before calibration, of the newest arrival."""

    @property
    def runs(self) -> int:
        """How many earlier runs it leans on."""
        return self._runs

    def fold(self, minute: float, value: float) -> None:
        """Take one reading; ``minute`` must not decrease."""
        self._plain.fold(minute, value)
        self._known.fold(minute, value)

    def arrival(self, target: float) -> Arrival | None:
        """When the curve meets ``target``, in minutes from the newest reading: an interval of 90 %, or none."""
        plain, known = self._plain.reckoned(target), self._known.reckoned(target)
        if plain is None or known is None:
            # One of both says that it cannot be known: then nothing is made up from the other.
            asked = self._plain if plain is None else self._known
            self.why_none = asked.why_none
            return None
        apart = plain[0] - known[0]
        doubt = apart**2 / (plain[1] ** 2 + known[1] ** 2)
        share = self._runs / (self._runs + _DOUBTED_AFTER) * math.exp(-doubt / 4.0)
        middle = plain[0] - share * apart
        spread = math.hypot((1.0 - share) * plain[1] + share * known[1], 0.8 * apart)
        self.raw = (middle, spread)
        arrival = self._known.interval(middle, spread)
        self.why_none = self._known.why_none
        return arrival
