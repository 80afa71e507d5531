"""Litres, air, portions and cost that follow from a composition."""

from dataclasses import dataclass
from typing import Final

from orchestrator.core.measures import converted
from orchestrator.core.mix.composition import Composition
from orchestrator.core.models import Process
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.thermal.mix import Range, density_kg_per_l, overrun_by_volume, weight_g

PORTION: Final = Quantity(value=0.1, unit=Unit.LITRE)
"""Where the recipe names none: a scoop or two, common practice."""
FITS: Final = 0.1
"""By so much the written yield may differ from what the weights give before it is told."""


@dataclass(frozen=True, slots=True)
class Yields:
    """What comes out; nothing in it counts what stays in machines."""

    mix_kg: float
    mix_kg_per_l: Range
    mix_l: Range
    written: Quantity
    churned: bool
    overrun: Range | None
    """Air as a share of the mix, from the written yield in litres."""
    product_kg_per_l: float | None
    portion: Quantity
    portions: float | None
    cost: float
    cost_per_unit: float
    """Of one litre, kilogram or piece of the yield."""
    cost_per_portion: float | None
    misfit: float | None
    """Litres or kilograms of the yield less those of its weights; nothing where they fit, or air comes in."""


def yields(made: Composition) -> Yields | None:
    """Of a composition whose lines all have a weight; nothing of any other."""
    kg = weight_g(made.mixed) / 1000.0
    if not made.weighed or kg <= 0.0:
        return None
    written = made.recipe.yields.times(made.scale)
    density = density_kg_per_l(made.mixed)
    litres = Range(kg / density.high, kg / density.low)
    churned = any(step.process is Process.CHURN for step in made.recipe.steps)
    by_litre = written.unit is Unit.LITRE and written.value > 0
    air = churned and by_litre
    portion = made.recipe.portion or PORTION
    portions = _portions(written, portion)
    return Yields(
        mix_kg=kg,
        mix_kg_per_l=density,
        mix_l=litres,
        written=written,
        churned=churned,
        overrun=Range(overrun_by_volume(litres.high, written.value), overrun_by_volume(litres.low, written.value))
        if air
        else None,
        product_kg_per_l=made.grams / 1000.0 / written.value if air else None,
        portion=portion,
        portions=portions,
        cost=made.cost,
        cost_per_unit=made.cost / written.value,
        cost_per_portion=made.cost / portions if portions else None,
        misfit=None if air else _misfit(written, made.grams / 1000.0, litres),
    )


def _portions(written: Quantity, portion: Quantity) -> float | None:
    """Pieces are portions of one; a volume and a weight do not count each other."""
    if written.unit is Unit.EACH:
        return written.value
    return written.value / portion.value if written.unit is portion.unit and portion.value > 0 else None


def _misfit(written: Quantity, kg: float, litres: Range) -> float | None:
    if written.unit is Unit.KILOGRAM:
        return written.value - kg if abs(written.value - kg) > FITS * kg else None
    if written.unit is Unit.LITRE:
        middle = (litres.low + litres.high) / 2.0
        return written.value - middle if abs(written.value - middle) > FITS * middle else None
    return None


LB_PER_GAL: Final = converted(1.0, "lb", "kg") / converted(1.0, "gal", "L")
"""A pound to the US gallon, in kg/L."""
