"""A whole curve folded at once."""

from orchestrator.thermal.verdict import Fold, Verdict


def folded(fold: Fold, readings: list[tuple[float, float]]) -> Verdict:
    """What is said at the last of the readings (second, degrees)."""
    for second, degrees in readings:
        fold.fold(second, degrees)
    return fold.verdict(readings[-1][0])
