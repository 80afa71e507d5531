"""Whether a weight, a volume, a count or a °Brix that somebody typed can be meant as it stands: a slip is asked about.

The figures are ours: wide enough for a batch that went wrong, narrow enough for a point in the wrong place.
"""

from typing import Final

from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.models import Measure
from orchestrator.core.quantities import Quantity, Unit

UNIT_OF: Final = {Measure.WEIGHT_KG: Unit.KILOGRAM, Measure.VOLUME_L: Unit.LITRE, Measure.COUNT: Unit.EACH}
"""In which a measure is counted, where that is a unit of amounts."""
_SIGNS: Final = {Measure.WEIGHT_KG: "kg", Measure.VOLUME_L: "L", Measure.COUNT: "pieces", Measure.BRIX: "°Bx"}
_REMEDIES: Final = {
    Measure.COUNT: "count again; if it is so, say that it is, or give a reason",
    Measure.BRIX: "look at the refractometer again; if it is so, say that it is, or give a reason",
}
_LEAST_OF_EXPECTED: Final = 0.2
_MOST_OF_EXPECTED: Final = 2.0
_THOUSAND: Final = 1000.0
"""Grams for kilograms, millilitres for litres: the slip that scales and jugs invite."""
_BRIX: Final = (2.0, 80.0)
"""Fruit and mixes lie well within; sucrose is saturated at about 67 °Bx at 20 °C (from memory), boiled syrups go on."""
BRIX_MOST: Final = 100.0
"""Grams of sucrose in 100 g of solution, by the definition of the degree: no more can be."""
_MOST_OF_START: Final = 1.25
"""Of what was made or came of a lot: jugs and scales differ, but food does not become more. Ours."""
_LEAST_OF_WANTED: Final = 0.5
"""Of the weight at which a step is done: what simmers is not boiled down to half of that between two weighings."""


def amount_doubt(thing: str, measure: Measure, value: float, expected: Quantity | None) -> Refusal | None:
    """The question about a measured value; none where it fits, or nothing is known to compare it with.

    Args:
        thing: The task, as refusals name it.
        measure: What was measured, no temperature.
        value: In the measure's unit, above 0.
        expected: What the step should give.
    """
    if measure is Measure.BRIX:
        low, high = _BRIX
        return None if low <= value <= high else _question(thing, measure, value, f"usual is {low:g} to {high:g} °Bx")
    if expected is None or UNIT_OF.get(measure) is not expected.unit:
        return None
    low, high = _LEAST_OF_EXPECTED * expected.value, _MOST_OF_EXPECTED * expected.value
    if low <= value <= high:
        return None
    smaller = value / _THOUSAND
    meant = smaller if measure is not Measure.COUNT and low <= smaller <= high else None
    wanted = f"{expected.value:g} pieces" if measure is Measure.COUNT else str(expected)
    return _question(thing, measure, value, f"expected is {wanted}", meant)


def first_weight_doubt(thing: str, kilograms: float, expected: Quantity | None, share: float) -> Refusal | None:
    """The question about the weight before a step: all later ones are judged by it, so that a slip here costs most.

    A litre of what kitchens simmer weighs about a kilogram (water 1.0, thick syrup about 1.3): near enough for bounds
    that only a point in the wrong place, or grams, goes past.

    Args:
        thing: The task, as refusals name it.
        kilograms: What was weighed, above 0.
        expected: How much is in the step; recipes tell it before or after what is lost.
        share: Of the first weight, at which the step is done; in (0, 1).
    """
    if expected is None or expected.unit not in (Unit.KILOGRAM, Unit.LITRE):
        return None
    low, high = _LEAST_OF_EXPECTED * expected.value, _MOST_OF_EXPECTED * expected.value / share
    if low <= kilograms <= high:
        return None
    smaller = kilograms / _THOUSAND
    meant = smaller if low <= smaller <= high else None
    return _question(thing, Measure.WEIGHT_KG, kilograms, f"expected is {expected}", meant)


def weight_doubt(thing: str, kilograms: float, wanted_kg: float) -> Refusal | None:
    """The question about a weight on the way down that lies far below the one at which the step is done."""
    if kilograms >= _LEAST_OF_WANTED * wanted_kg:
        return None
    return _question(thing, Measure.WEIGHT_KG, kilograms, f"it is done at {wanted_kg:.2f} kg")


def count_doubt(thing: str, counted: Quantity, start: float) -> Refusal | None:
    """The question about a count of more than there ever was of a lot, ``start`` in the count's unit."""
    most = _MOST_OF_START * start
    if counted.value <= most:
        return None
    smaller = counted.value / _THOUSAND
    slipped = counted.unit in (Unit.KILOGRAM, Unit.LITRE) and _LEAST_OF_EXPECTED * start <= smaller <= most
    return Refusal(
        code=RefusalCode.DOUBTFUL,
        thing=thing,
        status=f"{counted} does not fit: no more than {Quantity(value=start, unit=counted.unit)} of it was ever there",
        remedy="count again; if it is so, say that it is",
        meant=round(smaller, 3) if slipped else None,
    )


def _question(thing: str, measure: Measure, value: float, why: str, meant: float | None = None) -> Refusal:
    return Refusal(
        code=RefusalCode.DOUBTFUL,
        thing=thing,
        status=f"{value:g} {_SIGNS[measure]} does not fit: {why}",
        remedy=_REMEDIES.get(measure, "look at the scale again; if it is so, say that it is, or give a reason"),
        meant=None if meant is None else round(meant, 3),
    )
