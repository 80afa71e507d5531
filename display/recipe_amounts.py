"""How amounts are written on recipe pages: metric or US measures, weights first."""

from dataclasses import dataclass
from typing import Final, Literal

from display.formats import THIN, Formats
from orchestrator.core.measures import VOLUMES, WEIGHTS, in_us
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.recipe_scaling import Need

Measures = Literal["metric", "us"]
UNITS: Final = (*WEIGHTS, *VOLUMES, "each", "trays")
"""In which an amount may be entered."""


def figures(value: float) -> str:
    """Three figures that count, never in powers: ``0.333``, ``12.5``, ``3200``."""
    whole = abs(value) >= 100
    text = f"{value:.0f}" if whole else f"{value:.3g}"
    return text.rstrip("0").rstrip(".") if "." in text else text


@dataclass(frozen=True, slots=True)
class Amounts:
    """For one page."""

    formats: Formats
    measures: Measures = "metric"

    def written(self, quantity: Quantity) -> str:
        """As the recipe writes it: ``550 g``, or ``1.21 lb``."""
        if self.measures == "metric" or quantity.unit not in (Unit.KILOGRAM, Unit.LITRE):
            return self.formats.amount(quantity)
        return self._us(quantity.value, quantity.unit)

    def weight(self, kilograms: float) -> str:
        """A weight: ``3.2 kg``, or ``7.05 lb``; what is under a pound in ounces."""
        if self.measures == "us":
            return self._us(kilograms, "kg")
        return self.formats.amount(Quantity(value=kilograms, unit=Unit.KILOGRAM))

    def volume(self, need: Need) -> str:
        """The volume beside a weight; empty where it is neither written nor can be told."""
        if need.quantity.unit is Unit.LITRE:
            return self.written(need.quantity)
        density = need.row.density_g_per_ml if need.row is not None else None
        if need.weight_kg is None or density is None or need.component is not None:
            return ""
        return self.written(Quantity(value=need.weight_kg / density, unit=Unit.LITRE))

    @staticmethod
    def _us(value: float, unit: str) -> str:
        told, into = in_us(value, unit)
        return f"{figures(told)}{THIN}{into.replace(' ', THIN)}"
