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
_MOST_OF_PAR: Final = 2.0
"""Of what a counter is to have in the morning, left there in the evening. Ours."""
_BULK: Final = {Unit.KILOGRAM: 50.0, Unit.LITRE: 50.0, Unit.EACH: 500.0}
"""Sacks, drums and boxes are bought for weeks: up to here nothing is asked of a delivery whose order is not known."""
_MOST_OF_NEED: Final = 20.0
"""Of what the plan still takes, beyond that. Both ours."""
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
    return _question(thing, measure, value, f"expected is {_says(expected)}", meant)


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
    most_ever = Quantity(value=start, unit=counted.unit)
    return Refusal(
        code=RefusalCode.DOUBTFUL,
        thing=thing,
        status=f"{_says(counted)} does not fit: no more than {_says(most_ever)} of it was ever there",
        remedy="count again; if it is so, say that it is",
        meant=round(smaller, 3) if slipped else None,
    )


def left_doubt(thing: str, left: Quantity, par: Quantity) -> Refusal | None:
    """The question about what was left at a counter: far more than it is to have hardly stands there at closing."""
    return _far_off(thing, left, par, (0.0, _MOST_OF_PAR), f"its par is {_says(par)}")


def delivery_doubt(
    thing: str, came: Quantity, ordered: Quantity | None, needed: float, *, all_of_it: bool
) -> Refusal | None:
    """The question about how much of an ingredient came; none where it fits, or nothing is known to compare it with.

    Args:
        thing: The ingredient.
        came: What is taken in, above 0.
        ordered: What was, if anybody said; in the same unit.
        needed: What work that has not begun takes of it, in that unit.
        all_of_it: It is said to be what was ordered, not less.
    """
    if ordered is not None and ordered.value > 0:
        least = _LEAST_OF_EXPECTED if all_of_it else 0.0
        doubt = _far_off(thing, came, ordered, (least, _MOST_OF_EXPECTED), f"{_says(ordered)} were ordered")
    elif needed > 0 and came.value > _BULK.get(came.unit, came.value):
        all_needed = Quantity(value=needed, unit=came.unit)
        doubt = _far_off(thing, came, all_needed, (0.0, _MOST_OF_NEED), f"the plan takes {_says(all_needed)}")
    else:
        return None
    return None if doubt is None else doubt.model_copy(update={"field": "quantity"})


def _far_off(thing: str, told: Quantity, known: Quantity, bounds: tuple[float, float], why: str) -> Refusal | None:
    """The question about an amount that is outside what is known of it, ``bounds`` in parts of that."""
    low, high = (bound * known.value for bound in bounds)
    if low <= told.value <= high:
        return None
    smaller = told.value / _THOUSAND
    slipped = told.unit in (Unit.KILOGRAM, Unit.LITRE) and _LEAST_OF_EXPECTED * known.value <= smaller <= high
    return Refusal(
        code=RefusalCode.DOUBTFUL,
        thing=thing,
        status=f"{_says(told)} does not fit: {why}",
        remedy="count again; if it is so, say that it is",
        meant=round(smaller, 3) if slipped else None,
    )


def _says(amount: Quantity) -> str:
    """``4 L``; of what is counted, with the word for it."""
    return f"{amount.value:g} pieces" if amount.unit is Unit.EACH else str(amount)


def _question(thing: str, measure: Measure, value: float, why: str, meant: float | None = None) -> Refusal:
    return Refusal(
        code=RefusalCode.DOUBTFUL,
        thing=thing,
        status=f"{value:g} {_SIGNS[measure]} does not fit: {why}",
        remedy=_REMEDIES.get(measure, "look at the scale again; if it is so, say that it is, or give a reason"),
        meant=None if meant is None else round(meant, 3),
    )
