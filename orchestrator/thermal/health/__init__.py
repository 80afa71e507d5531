"""Whether a probe can be believed: folds over its readings, each of bounded size, that never guess."""

from orchestrator.thermal.health.clocks import ProbeClock
from orchestrator.thermal.health.drift import Drift
from orchestrator.thermal.health.one import OneProbe
from orchestrator.thermal.health.signs import Expected, Finding, Sign, Unit, one_cause
from orchestrator.thermal.health.together import Together

__all__ = ["Drift", "Expected", "Finding", "OneProbe", "ProbeClock", "Sign", "Together", "Unit", "one_cause"]
