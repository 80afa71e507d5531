"""Freezing point of a mix, and how much of its water is ice at a temperature."""

import math
from collections.abc import Callable
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class FreezingMix:
    """What depresses the freezing point, in mass per cent of the mix.

    Source: Leighton, J. Dairy Sci. 10:300, 1927, as the University of Guelph's ice cream pages (Goff) work it out.
    """

    water: float
    sucrose: float = 0.0
    milk_solids_not_fat: float = 0.0
    whey_solids: float = 0.0
    syrup_42de_solids: float = 0.0

    @property
    def sucrose_equivalent_g_per_100g_water(self) -> float:
        """Sugars as so much sucrose."""
        total = (
            0.545 * self.milk_solids_not_fat + 0.765 * self.whey_solids + self.sucrose + 0.42 * self.syrup_42de_solids
        )
        return 100.0 * total / self.water

    @property
    def salts_depression_c(self) -> float:
        """Depression by the salts of milk and whey, before anything is frozen, °C."""
        return 2.37 * (self.milk_solids_not_fat + self.whey_solids) / self.water


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


def freezing_point_c(mix: FreezingMix, frozen: float = 0.0) -> float:
    """Freezing point of what is left liquid.

    Args:
        mix: what it is made of.
        frozen: share of the water that is ice, from 0 to below 1: it leaves sugars and salts behind.
    """
    sugar = mix.sucrose_equivalent_g_per_100g_water / (1.0 - frozen)
    return sucrose_freezing_point_c(100.0 * sugar / (100.0 + sugar)) - mix.salts_depression_c / (1.0 - frozen)


def frozen_water(mix: FreezingMix, celsius: float) -> float:
    """Share of the water that is ice at a temperature, from 0 to 1."""
    if celsius >= freezing_point_c(mix):
        return 0.0
    # Concentrations beyond the range of the equations: colder than anything a kitchen has.
    return _bisect(lambda share: freezing_point_c(mix, share) - celsius, 0.0, 0.93)


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
