"""Amounts and degrees of a recipe in a form, as its writer measures; what was left as it stood is not rounded."""

import re
from dataclasses import dataclass
from typing import Any, Final

from pydantic import ValidationError

from orchestrator.core.measures import US_MEASURES, in_us
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.typed_amounts import NoAmount, typed_quantity

_METRIC: Final = re.compile(r"[0-9.]+\s*(g|kg|ml|L)")
_CELSIUS: Final = re.compile(r"([-−]?[0-9.]+)\s*°?\s*C")
_WORDED: Final = frozenset({"id", "code", "name", "title", "ingredient", "says", "base", "of"})
"""Names of fields in which words stand: never read as amounts."""
_NO_UNIT: Final = re.compile(r"[0-9.,\s/]*")


@dataclass(frozen=True, slots=True)
class DraftUnits:
    """In which units a form is shown."""

    us: bool = False
    fahrenheit: bool = False

    def shown(self, name: str, text: str) -> str:
        """``550 g`` as ``1.213 lb``, ``82 °C`` as ``179.6 °F``; anything else as it is.

        Args:
            name: Of the field.
            text: As the recipe has it.
        """
        if name in _WORDED:
            return text
        if self.us and _METRIC.fullmatch(text):
            return _in_us(text)
        degrees = _CELSIUS.fullmatch(text) if self.fahrenheit else None
        if degrees is None:
            return text
        return f"{round(float(degrees[1].replace('−', '-')) * 1.8 + 32.0, 2):g} °F"

    def kept(self, name: str, typed: str, before: Any) -> str:
        """What the recipe is to hold: what it held, where the field stands as it was shown; sums of pounds and ounces,
        fractions and other ways of writing as one amount."""
        if isinstance(before, str) and self.shown(name, before) == typed:
            return before
        return typed if name in _WORDED else _one_amount(typed)


def _in_us(text: str) -> str:
    try:
        quantity = Quantity.model_validate(text)
    except ValidationError:
        return text
    value, unit = in_us(quantity.value, quantity.unit)
    assert unit in US_MEASURES[0] or unit in US_MEASURES[1]
    return f"{float(f'{value:.4g}'):g} {unit}"


def _one_amount(typed: str) -> str:
    if _NO_UNIT.fullmatch(typed):
        return typed
    try:
        Quantity.model_validate(typed)
    except ValidationError:
        for unit in (Unit.KILOGRAM, Unit.LITRE):
            try:
                found = typed_quantity(typed, unit)
            except NoAmount:
                continue
            return str(found.model_dump())
    return typed
