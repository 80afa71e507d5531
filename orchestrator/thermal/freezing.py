"""Freezing point of sucrose in water, by which that of a mix is told."""

import math
from collections.abc import Callable
from typing import Final

_NORRISH_K: Final = 6.47
"""Of sucrose. Source: Norrish, J. Food Technol. 1:25, 1966 (from memory)."""
_FUSION_J_PER_MOL: Final = 6009.5
_HEAT_CAPACITY_RISE_J_PER_MOL_K: Final = 38.1
"""Water less ice at 0 °C. Source: IAPWS formulations of water and ice (from memory)."""
_GAS_J_PER_MOL_K: Final = 8.314462618
_MELTS_K: Final = 273.15
_WATER_G_PER_MOL: Final = 18.015268
_SUCROSE_G_PER_MOL: Final = 342.2965
_LOWEST_C: Final = -40.0


def sucrose_freezing_point_c(mass_percent: float) -> float:
    """Freezing point of sucrose in water.

    Args:
        mass_percent: of sucrose, from 0 to about 70.

    Returns: °C, the temperature at which ice has the water activity that Norrish's equation gives.
    """
    sugar = mass_percent / _SUCROSE_G_PER_MOL
    sugar_share = sugar / (sugar + (100.0 - mass_percent) / _WATER_G_PER_MOL)
    log_activity = math.log1p(-sugar_share) - _NORRISH_K * sugar_share**2
    return _bisect(lambda celsius: _log_activity_of_ice(celsius) - log_activity, _LOWEST_C, 0.0)


def _log_activity_of_ice(celsius: float) -> float:
    """Natural logarithm of the water activity at which ice and solution are in balance (van 't Hoff)."""
    kelvin = celsius + _MELTS_K
    heat_at_0_k = _FUSION_J_PER_MOL - _HEAT_CAPACITY_RISE_J_PER_MOL_K * _MELTS_K
    return (
        -heat_at_0_k * (1.0 / kelvin - 1.0 / _MELTS_K) / _GAS_J_PER_MOL_K
        + _HEAT_CAPACITY_RISE_J_PER_MOL_K * math.log(kelvin / _MELTS_K) / _GAS_J_PER_MOL_K
    )


def _bisect(rises: Callable[[float], float], low: float, high: float) -> float:
    falling = rises(low) > rises(high)
    for _ in range(60):
        middle = (low + high) / 2.0
        if (rises(middle) > 0.0) == falling:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0
