"""Prints the table of `thermal.estimates.calibration`: other seeds than the tests have."""

from typing import Final

import numpy as np

from tests.thermal.truth.curves import KINDS, curves
from tests.thermal.truth.score import followed

SEED: Final = 990_001
COUNT: Final = 1200
STAGES: Final = 4
_SAFE: Final = 0.02
"""Each end of the interval is put where 2 % instead of 5 % lie beyond: other kitchens are not like these."""


def row(kind: str) -> list[tuple[float, float, float]]:
    """Quantiles of (truth - estimate) / spread, in logarithms, by how much of the time seems to be over."""
    errors: list[list[float]] = [[] for _ in range(STAGES)]
    for curve in curves(kind, COUNT, SEED):
        estimator = followed(curve)
        estimator.arrival(curve.target)
        middle, spread = estimator.raw
        left = curve.truth_min - float(curve.minutes[-1]) if len(curve.minutes) else 0.0
        if spread > 0.0 and np.isfinite(left):
            passed = float(curve.minutes[-1] - curve.minutes[0])
            stage = min(int(STAGES * passed / (passed + np.exp(middle))), STAGES - 1)
            errors[stage].append((float(np.log(max(left, 0.05))) - middle) / spread)
    everything = [e for stage in errors for e in stage]
    quantiles = [np.quantile(e if len(e) >= 60 else everything, (_SAFE, 0.5, 1 - _SAFE)) for e in errors]
    return [(round(float(a), 2), round(float(b), 2), round(float(c), 2)) for a, b, c in quantiles]


def main() -> None:
    """Print the table."""
    for kind in KINDS:
        print(f'    "{kind}": {tuple(row(kind))},', flush=True)


if __name__ == "__main__":
    main()
