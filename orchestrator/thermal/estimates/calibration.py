"""How far off estimates of each kind were on tuning curves: makes their intervals honest (conformal prediction)."""

from typing import Final

CALIBRATION: Final = {
    "hob": ((-1.9, -0.88, 0.67), (-1.93, -0.24, 2.66), (-1.96, 0.04, 4.12), (-1.34, 0.34, 3.19)),
    "hob, known": ((-1.32, -0.14, 1.15), (-1.64, -0.16, 1.5), (-1.6, -0.1, 2.66), (-1.21, 0.39, 3.71)),
    "simmer": ((-3.09, -0.81, 1.44), (-1.93, -0.22, 1.8), (-1.95, 0.22, 2.76), (-1.58, 0.33, 2.92)),
    "dehydrate": ((-1.43, 0.71, 2.17), (-0.33, 0.97, 2.18), (-0.62, 0.63, 1.68), (-0.64, 0.64, 8.66)),
    "simmer, known": ((-2.49, -0.26, 1.52), (-2.52, -0.13, 2.63), (-2.08, -0.14, 1.68), (-1.64, -0.08, 1.67)),
    "dehydrate, known": ((-0.89, 0.09, 1.74), (-1.09, 0.19, 1.88), (-0.91, 0.73, 3.15), (0.73, 2.48, 4.49)),
    "ice bath": ((-2.34, -1.35, 0.45), (-2.02, -0.92, -0.16), (-1.83, -1.02, -0.49), (-1.67, -0.98, -0.31)),
    "fridge": ((-1.88, -0.41, 0.6), (-0.97, 0.11, 1.03), (-0.51, 0.2, 1.05), (-0.64, 0.21, 0.96)),
    "age": ((-2.99, -1.06, 0.28), (-2.79, -0.38, 0.75), (-2.54, -0.07, 0.91), (-1.47, 0.02, 1.11)),
    "freeze": ((-5.66, -1.2, 0.64), (-3.17, -0.52, 1.33), (-3.43, -0.76, 2.16), (-2.23, 0.04, 1.22)),
    "harden": ((-3.42, -2.11, -0.59), (-3.45, -2.07, -0.56), (-3.45, -1.55, 0.03), (-2.55, -0.59, 1.39)),
    "temper": ((-2.83, -1.44, -0.19), (-2.76, -1.24, -0.25), (-2.47, -1.09, 0.14), (-1.98, -0.63, 1.06)),
}
"""By kind and stage (quarters of the time that seems to be over): soonest, middle and latest, in spreads.

Quantiles of errors on 1,200 simulated curves of each kind, of other seeds and other parameters than those on which
coverage is reported; made by `python -m tests.thermal.truth.tune`.
"""


def calibrated(way: str, done: float) -> tuple[float, float, float]:
    """Soonest, middle and latest of the logarithm of the wait, in spreads from the raw estimate.

    Args:
        way: key of `CALIBRATION`.
        done: share of the whole time that seems to be over, 0 to 1. Between the middles of two stages it is mixed.
    """
    stages = CALIBRATION[way]
    place = min(max(done * len(stages) - 0.5, 0.0), len(stages) - 1.0)
    left = min(int(place), len(stages) - 2)
    share = place - left
    low, mid, high = ((1.0 - share) * a + share * b for a, b in zip(stages[left], stages[left + 1], strict=True))
    return low, mid, high
