"""An estimator that has seen the same step done in the same place before."""

import math
from typing import Final

from orchestrator.thermal.estimates.by_runs import ByRuns
from orchestrator.thermal.estimates.clock import TOO_FEW, Estimator
from orchestrator.thermal.trend import Arrival

WAY: Final = "hob, known"
"""Whose calibration applies."""
_DOUBTED_AFTER: Final = 0.5
"""Earlier runs that weigh as much as what curves of this kind are like anywhere."""
_APART: Final = 0.6
"""Of what both are apart, how much the interval is wider."""


class Recalled:
    """Two estimators on one curve: one that knows only what such curves are like, one by earlier runs.

    The more earlier runs there are the more they count; where both differ the interval is wider.
    """

    def __init__(self, plain: Estimator, known: ByRuns, runs: int) -> None:
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
            self.why_none = self._plain.why_none if plain is None else TOO_FEW
            return None
        apart = plain[0] - known[0]
        share = self._runs / (self._runs + _DOUBTED_AFTER)
        middle = plain[0] - share * apart
        spread = math.hypot((1.0 - share) * plain[1] + share * known[1], _APART * apart)
        self.raw = (middle, spread)
        arrival = self._plain.interval(middle, spread, WAY)
        self.why_none = self._plain.why_none
        return arrival
