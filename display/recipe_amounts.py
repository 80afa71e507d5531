"""How amounts are written on recipe pages: metric or US measures, weights first."""

from dataclasses import dataclass
from typing import Final, Literal

from display.formats import Formats
from orchestrator.core.measures import VOLUMES, WEIGHTS
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.recipe_scaling import Need
from orchestrator.core.typed_amounts import US_UNIT, typed_unit

Measures = Literal["metric", "us"]
UNITS: Final = (*WEIGHTS, *VOLUMES, "each", "trays")
"""In which an amount may be entered."""


@dataclass(frozen=True, slots=True)
class Amounts:
    """For one page."""

    formats: Formats
    measures: Measures = "metric"

    def written(self, quantity: Quantity) -> str:
        """As the recipe writes it: ``550 g``, or ``1.21 lb``."""
        if self.measures == "metric" or quantity.unit not in (Unit.KILOGRAM, Unit.LITRE):
            return self.formats.metric().amount(quantity)
        return self.formats.in_us(quantity.value, quantity.unit)

    def typed_unit(self, unit: Unit) -> str:
        """What a bare number means on this page."""
        told = typed_unit(unit, us=self.measures == "us")
        return told if unit in US_UNIT else self.formats.typed_unit(unit)

    def weight(self, kilograms: float) -> str:
        """A weight: ``3.2 kg``, or ``7.05 lb``; what is under a pound in ounces."""
        if self.measures == "us":
            return self.formats.in_us(kilograms, "kg")
        return self.formats.metric().amount(Quantity(value=kilograms, unit=Unit.KILOGRAM))

    def volume(self, need: Need) -> str:
        """The volume beside a weight; empty where it is neither written nor can be told."""
        if need.quantity.unit is Unit.LITRE:
            return self.written(need.quantity)
        density = need.row.density_g_per_ml if need.row is not None else None
        if need.weight_kg is None or density is None or need.component is not None:
            return ""
        return self.written(Quantity(value=need.weight_kg / density, unit=Unit.LITRE))
