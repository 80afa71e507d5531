"""Freezing of a mix from its parts, one temperature at a time: what `thermal.mix_freezing` is compared with."""

from dataclasses import dataclass

from scipy.optimize import brentq

from orchestrator.thermal.freezing import sucrose_freezing_point_c


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
    if celsius < freezing_point_c(mix, 0.93):
        return 0.93
    return float(brentq(lambda share: freezing_point_c(mix, share) - celsius, 0.0, 0.93))
