"""Heat treatment added up over a curve, as a second opinion beside the limits printed in the codes."""

import math
from collections.abc import Sequence


def lethality_min(minutes: Sequence[float], celsius: Sequence[float], *, reference_c: float, z_c: float) -> float:
    """Minutes at ``reference_c`` that would do as much: F = ∫ 10^((T − Tref) / z) dt.

    Between readings the temperature is a straight line, over which the integral is exact.

    Args:
        minutes: instants, increasing.
        celsius: temperatures at those instants.
        reference_c: Tref.
        z_c: degrees for a tenfold change in rate; greater than 0.

    Source: the general method of Bigelow; see any handbook of thermal processing.
    """
    total = 0.0
    for i in range(1, len(minutes)):
        span = minutes[i] - minutes[i - 1]
        total += span * _mean_rate((celsius[i - 1] - reference_c) / z_c, (celsius[i] - reference_c) / z_c)
    return total


def _mean_rate(start: float, end: float) -> float:
    """Mean of 10^x for x going straight from ``start`` to ``end``."""
    if abs(end - start) < 1e-9:
        return float(10.0 ** ((start + end) / 2.0))
    return float((10.0**end - 10.0**start) / (math.log(10.0) * (end - start)))
