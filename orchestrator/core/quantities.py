"""Amounts, durations and temperatures as people write them, and as the program counts them.

Inside the program every number carries its unit in its name: minutes are whole, temperatures are
degrees Celsius. In a kitchen's files the unit must be written; in our own JSON a bare number is
accepted, because there the field's definition names the unit.
"""

import re
from datetime import datetime
from enum import StrEnum
from typing import Annotated, Any, Final

from pydantic import (
    AfterValidator,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    WithJsonSchema,
    model_serializer,
    model_validator,
)
from pydantic import BaseModel as _BaseModel

from orchestrator.core.measures import US_MEASURES, converted

UNITS_REQUIRED: Final = "units_required"
"""Key of the validation context under which a bare number is a fault (set when reading YAML)."""

_MINUTES = {"min": 1, "h": 60, "d": 1440}
_SECONDS = {"s": 1, "min": 60, "h": 3600, "d": 86400}
# Nine digits are plenty for a kitchen, and keep every number finite.
_NUMBER = r"[0-9]{1,9}(?:\.[0-9]{1,9})?"
_DURATION = re.compile(rf"({_NUMBER})\s*(d|h|min)\b\s*")
_HOLD = re.compile(rf"({_NUMBER})\s*(d|h|min|s)\b\s*")
_TEMPERATURE = re.compile(rf"([-+−]?{_NUMBER})\s*°?\s*([CF])")
_QUANTITY = re.compile(rf"(-?{_NUMBER})\s*([A-Za-z]+(?: oz)?)")
_DECIMALS: Final = 9
"""Amounts are kept to so many decimals, which text carries exactly: what is written is read back the same."""


class Unit(StrEnum):
    """Units in which something is made, loaded or handed over."""

    LITRE = "L"
    KILOGRAM = "kg"
    EACH = "each"
    TRAY = "trays"


_SCALES: dict[str, tuple[float, Unit]] = {
    "L": (1.0, Unit.LITRE),
    "ml": (0.001, Unit.LITRE),
    "kg": (1.0, Unit.KILOGRAM),
    "g": (0.001, Unit.KILOGRAM),
    "each": (1.0, Unit.EACH),
    "trays": (1.0, Unit.TRAY),
    "tray": (1.0, Unit.TRAY),
    "cups": (converted(1.0, "cup", "L"), Unit.LITRE),
    **{
        name: (converted(1.0, name, into.value), into)
        for into, names in ((Unit.KILOGRAM, US_MEASURES[0]), (Unit.LITRE, US_MEASURES[1]))
        for name in names
    },
}


def _bare_number(value: Any, info: ValidationInfo, example: str) -> bool:
    if isinstance(value, bool):
        raise ValueError(f"{str(value).lower()} is no number: write it like {example!r}")
    if not isinstance(value, int | float):
        return False
    if info.context and info.context.get(UNITS_REQUIRED):
        raise ValueError(f"the unit is missing: write it, for example {example!r}")
    return True


def _parse_minutes(value: Any, info: ValidationInfo) -> Any:
    if _bare_number(value, info, "45 min"):
        return value
    if not isinstance(value, str):
        return value
    matches = list(_DURATION.finditer(value.strip()))
    if not matches or "".join(m.group(0) for m in matches) != value.strip():
        raise ValueError(f"{value!r} is not a duration: write '45 min', '12 h', '1 h 30 min' or '5 d'")
    # A third of an hour is 20 min: rounding of floats must not make a fault of it.
    total = round(sum(float(m.group(1)) * _MINUTES[m.group(2)] for m in matches), 6)
    if total != int(total):
        raise ValueError(f"{value!r} is not a whole number of minutes: write whole minutes")
    return int(total)


def _parse_seconds(value: Any, info: ValidationInfo) -> Any:
    if _bare_number(value, info, "25 s") or not isinstance(value, str):
        return value
    matches = list(_HOLD.finditer(value.strip()))
    if not matches or "".join(m.group(0) for m in matches) != value.strip():
        raise ValueError(f"{value!r} is not a length of time: write '25 s', '30 min' or '2 h'")
    return round(sum(float(m.group(1)) * _SECONDS[m.group(2)] for m in matches), 6)


def _parse_celsius(value: Any, info: ValidationInfo) -> Any:
    if _bare_number(value, info, "4 °C"):
        return value
    if not isinstance(value, str):
        return value
    match = _TEMPERATURE.fullmatch(value.strip())
    if match is None:
        raise ValueError(f"{value!r} is not a temperature: write '82 °C' or '180 °F'")
    number = float(match.group(1).replace("−", "-"))
    return number if match.group(2) == "C" else (number - 32.0) / 1.8


_DURATION_SCHEMA = {
    "type": "string",
    "pattern": r"^([0-9]{1,9}(\.[0-9]{1,9})?\s*(d|h|min)\s*)+$",
    "examples": ["45 min", "12 h"],
}
_SECONDS_SCHEMA = {
    "type": "string",
    "pattern": r"^([0-9]{1,9}(\.[0-9]{1,9})?\s*(d|h|min|s)\s*)+$",
    "examples": ["25 s", "30 min"],
}
_CELSIUS_SCHEMA = {
    "type": "string",
    "pattern": r"^[-+−]?[0-9]{1,9}(\.[0-9]{1,9})?\s*°?\s*[CF]$",
    "examples": ["4 °C", "180 °F"],
}

Minutes = Annotated[int, BeforeValidator(_parse_minutes), WithJsonSchema(_DURATION_SCHEMA, mode="validation")]
"""Whole minutes; written ``45 min``, ``12 h``, ``1 h 30 min`` or ``5 d``."""

Seconds = Annotated[
    float,
    Field(gt=0, allow_inf_nan=False),
    BeforeValidator(_parse_seconds),
    WithJsonSchema(_SECONDS_SCHEMA, mode="validation"),
]
"""Seconds, for holds that are shorter than a minute; written ``25 s``, ``0.5 s``, ``30 min`` or ``2 h``."""

Celsius = Annotated[float, BeforeValidator(_parse_celsius), WithJsonSchema(_CELSIUS_SCHEMA, mode="validation")]
"""Degrees Celsius; written ``82 °C`` or ``180 °F``."""


class Quantity(_BaseModel):
    """So much of something: a number of litres, kilograms, pieces or trays.

    Written ``5 L``, ``250 ml``, ``1.2 kg``, ``18 g``, ``80 each`` or ``6 trays``, or in US measures ``2 lb``, ``8 oz``,
    ``3 qt``, ``1.5 cups``, ``4 fl oz``; all are kept as litres and kilograms.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    value: Annotated[float, AfterValidator(lambda value: round(value, _DECIMALS) + 0.0), Field(allow_inf_nan=False)]
    unit: Unit

    @model_validator(mode="before")
    @classmethod
    def _from_text(cls, data: Any, info: ValidationInfo) -> Any:
        if isinstance(data, dict) and info.context and info.context.get(UNITS_REQUIRED):
            raise ValueError("an amount is not a set of keys: write it like '5 L' or '250 g'")
        if isinstance(data, int | float) and not isinstance(data, bool):
            raise ValueError("the unit is missing: write it, for example '5 L' or '250 g'")
        if not isinstance(data, str):
            return data
        match = _QUANTITY.fullmatch(data.strip())
        if match is None or match.group(2) not in _SCALES:
            known = ", ".join(_SCALES)
            raise ValueError(f"{data!r} is not an amount: write a number and one of {known}")
        scale, unit = _SCALES[match.group(2)]
        if match.group(1).startswith("-") and info.context and info.context.get(UNITS_REQUIRED):
            raise ValueError(f"{data!r} is less than nothing: write it without the minus")
        return {"value": float(match.group(1)) * scale, "unit": unit}

    @model_serializer
    def _to_text(self) -> str:
        return str(self)

    def __str__(self) -> str:
        """As it is written in the kitchen's files: ``2.5 kg``."""
        return f"{self.value:.{_DECIMALS}f}".rstrip("0").rstrip(".") + f" {self.unit}"

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: Any, handler: Any) -> dict[str, Any]:
        units = "|".join(_SCALES)
        return {
            "type": "string",
            "pattern": rf"^[0-9]{{1,9}}(\.[0-9]{{1,9}})?\s*({units})$",
            "examples": ["5 L", "250 g"],
        }

    def times(self, factor: float) -> "Quantity":
        """The same unit, ``factor`` times as much."""
        return Quantity(value=self.value * factor, unit=self.unit)


def minutes_between(start: datetime, end: datetime) -> int:
    """Whole minutes from start to end, rounded down."""
    return int((end - start).total_seconds() // 60)
