"""Amounts as people type them: ``2.4``, ``2 lb 4 oz``, ``1 1/2 cups``; a bare number is in the field's own unit."""

import re
from typing import Final, Literal

from orchestrator.core.measures import NoDensity, converted
from orchestrator.core.quantities import Quantity, Unit

_FRACTIONS: Final = {
    "½": 0.5,
    "¼": 0.25,
    "¾": 0.75,
    "⅓": 1 / 3,
    "⅔": 2 / 3,
    "⅛": 0.125,
    "⅜": 0.375,
    "⅝": 0.625,
    "⅞": 0.875,
}
_DECIMALS: Final = 9
"""As amounts are kept; what binary arithmetic adds lies beyond."""
_DIGITS: Final = r"[0-9]{1,9}"
_NUMBER: Final = (
    rf"(?:(?P<whole>{_DIGITS})\s+)?(?P<over>{_DIGITS})/(?P<under>{_DIGITS})"
    rf"|(?P<before>{_DIGITS})?\s*(?P<sign>[{''.join(_FRACTIONS)}])"
    rf"|(?P<plain>{_DIGITS}(?:[.,]{_DIGITS})?|[.,]{_DIGITS})"
)
_PART: Final = re.compile(
    rf"\s*(?:{_NUMBER})\s*(?P<unit>[^\W\d_]+(?:\.?\s+oz\b|\s+l[ií]quidas?\b)?\.?)?", re.IGNORECASE
)
_NAMES: Final = {
    "kg": "kg kilo kilos",
    "g": "g gram grams gramo gramos",
    "L": "l litre litres liter liters litro litros",
    "ml": "ml",
    "lb": "lb lbs pound pounds libra libras",
    "oz": "oz ounce ounces onza onzas",
    "gal": "gal gallon gallons galón galones",
    "qt": "qt qts quart quarts",
    "pt": "pt pts pint pints pinta pintas",
    "cup": "cup cups taza tazas",
    "tbsp": "tbsp tablespoon tablespoons cda cdas cucharada cucharadas",
    "tsp": "tsp teaspoon teaspoons cdta cdtas cucharadita cucharaditas",
}
"""How each measure is called, in both languages; ``fl oz`` is recognised by itself."""
_UNITS: Final = {name: unit for unit, names in _NAMES.items() for name in names.split()}
_PIECES: Final = {
    Unit.EACH: ("each", "piece", "pieces", "pieza", "piezas"),
    Unit.TRAY: ("tray", "trays", "bandeja", "bandejas"),
}
US_UNIT: Final = {Unit.KILOGRAM: "lb", Unit.LITRE: "qt"}
"""What a bare number means in a US field: the measures nearest to a kilogram and a litre."""


class NoAmount(ValueError):
    """A text that is no amount of the unit asked for."""

    def __init__(self, why: Literal["number", "unit", "density"], text: str) -> None:
        super().__init__(f"{text!r}: {why}")
        self.why = why
        """``number``: it cannot be read; ``unit``: it names another kind of unit; ``density``: a volume for a weight
        or the other way round, of something of which nobody says how dense it is."""


def typed_unit(unit: Unit, *, us: bool) -> str:
    """The unit that a bare number has: ``kg``, or ``lb`` in a US field."""
    return US_UNIT.get(unit, unit.value) if us else unit.value


def typed_amount(text: str, unit: Unit, *, us: bool = False, density_g_per_ml: float | None = None) -> float:
    """So much, in ``unit``.

    Args:
        text: A number, or numbers with their units, which are added together; point or comma, fractions as ``1/2``.
        unit: In which it is counted.
        us: Whether a bare number is in pounds or quarts.
        density_g_per_ml: Of this food; with it a weight may be told by volume, and a volume by weight.

    Raises:
        NoAmount: It cannot be read so.
    """
    told, at, parts = text.strip(), 0, 0
    total = 0.0
    while at < len(told):
        match = _PART.match(told, at)
        if match is None or (match["unit"] is None and (parts or match.end() < len(told))):
            raise NoAmount("number", text)
        named = typed_unit(unit, us=us) if match["unit"] is None else _unit(match["unit"], unit, text)
        total += _in(_number(match, text), named, unit, density_g_per_ml, text)
        at, parts = match.end(), parts + 1
    if not parts:
        raise NoAmount("number", text)
    return round(total, _DECIMALS)


def typed_quantity(text: str, unit: Unit, *, us: bool = False, density_g_per_ml: float | None = None) -> Quantity:
    """The same, with its unit. Raises: NoAmount."""
    return Quantity(value=typed_amount(text, unit, us=us, density_g_per_ml=density_g_per_ml), unit=unit)


def _number(match: re.Match[str], text: str) -> float:
    if match["plain"] is not None:
        return float(match["plain"].replace(",", "."))
    if match["sign"] is not None:
        return float(match["before"] or 0) + _FRACTIONS[match["sign"]]
    if int(match["under"]) == 0:
        raise NoAmount("number", text)
    return float(match["whole"] or 0) + int(match["over"]) / int(match["under"])


def _unit(name: str, unit: Unit, text: str) -> str:
    told = " ".join(name.lower().replace(".", " ").split())
    if told in ("fl oz", "floz", "onza líquida", "onzas líquidas", "onzas liquidas"):
        return "fl oz"
    if told in _PIECES.get(unit, ()):
        return unit.value
    if told not in _UNITS:
        raise NoAmount("unit", text)
    return _UNITS[told]


def _in(value: float, named: str, unit: Unit, density: float | None, text: str) -> float:
    if named == unit.value:
        return value
    if unit not in US_UNIT:
        raise NoAmount("unit", text)
    try:
        return converted(value, named, unit.value, density)
    except NoDensity:
        raise NoAmount("density", text) from None
