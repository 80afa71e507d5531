"""Weights and volumes, metric and US. A weight becomes a volume, or a volume a weight, only with a density."""

from typing import Final

_GRAMS: Final = {"g": 1.0, "kg": 1000.0, "oz": 453.59237 / 16, "lb": 453.59237}
"""Source: the international avoirdupois pound of 1959, exactly 0.453 592 37 kg."""
_GALLON_ML: Final = 231 * 2.54**3
"""The US gallon is 231 cubic inches of exactly 2.54 cm."""
_MILLILITRES: Final = {
    "ml": 1.0,
    "L": 1000.0,
    "gal": _GALLON_ML,
    "qt": _GALLON_ML / 4,
    "pt": _GALLON_ML / 8,
    "cup": _GALLON_ML / 16,
    "fl oz": _GALLON_ML / 128,
    "tbsp": _GALLON_ML / 256,
    "tsp": _GALLON_ML / 768,
}
"""US customary measures of fluids; a cup here is half a US pint, not the 240 ml of labels."""

WEIGHTS: Final = tuple(_GRAMS)
VOLUMES: Final = tuple(_MILLILITRES)
US_MEASURES: Final = (("lb", "oz"), ("gal", "qt", "pt", "cup", "fl oz", "tbsp", "tsp"))
"""Weights and volumes, from the largest down."""


class NoDensity(ValueError):
    """A weight and a volume cannot be told in each other: nobody said how dense it is."""


def converted(value: float, unit: str, into: str, density_g_per_ml: float | None = None) -> float:
    """An amount in another unit.

    Args:
        value: How much.
        unit: One of `WEIGHTS` or `VOLUMES`.
        into: The unit wanted.
        density_g_per_ml: Of this food; needed between a weight and a volume only.

    Raises:
        NoDensity: It is between a weight and a volume, and no density is given.
        ValueError: A unit is not known, or a density is not above nothing.
    """
    for name in (unit, into):
        if name not in _GRAMS and name not in _MILLILITRES:
            raise ValueError(f"{name!r} is no unit of weight or volume: write one of {', '.join((*WEIGHTS, *VOLUMES))}")
    if unit in _GRAMS and into in _GRAMS:
        return value * _GRAMS[unit] / _GRAMS[into]
    if unit in _MILLILITRES and into in _MILLILITRES:
        return value * _MILLILITRES[unit] / _MILLILITRES[into]
    if density_g_per_ml is None:
        raise NoDensity(f"{unit} cannot be told in {into} without a density: weigh it, or enter g/mL")
    if not density_g_per_ml > 0.0:
        raise ValueError(f"a density of {density_g_per_ml:g} g/mL is none: enter more than 0")
    if unit in _GRAMS:
        return value * _GRAMS[unit] / density_g_per_ml / _MILLILITRES[into]
    return value * _MILLILITRES[unit] * density_g_per_ml / _GRAMS[into]


def in_us(value: float, unit: str) -> tuple[float, str]:
    """A metric amount in the US unit that a kitchen would reach for, weight to weight and volume to volume."""
    grams = unit in _GRAMS
    ladder = ("lb", "oz") if grams else ("gal", "qt", "cup", "fl oz", "tbsp", "tsp")
    return _nearest(value, unit, ladder)


def _nearest(value: float, unit: str, ladder: tuple[str, ...]) -> tuple[float, str]:
    """In the largest unit of which there is at least one."""
    for into in ladder:
        found = converted(value, unit, into)
        if abs(found) >= 1.0:
            return found, into
    return converted(value, unit, ladder[-1]), ladder[-1]
