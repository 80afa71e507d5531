"""Time to a target, with an interval: one estimator for each kind of process."""

from orchestrator.thermal.estimates.choose import choose, choose_weight
from orchestrator.thermal.estimates.clock import TOO_FEW, Estimator, Prior

__all__ = ["TOO_FEW", "Estimator", "Prior", "choose", "choose_weight"]
