"""Limits on temperature and time as printed in a code, or named as practice: both units, source, scope, caution.

A limit is data. The kitchen's unit picks the column; neither column is ever worked out from the other, because
codes round as they see fit: the dairy tables print 155 °F as 69 °C, the Food Code prints it as 68 °C.
"""

import re
from enum import StrEnum
from typing import Annotated, Any, Final, Literal, NewType, Self

from pydantic import BeforeValidator, Field, ValidationInfo, WithJsonSchema, model_validator

from orchestrator.core.models.base import Model
from orchestrator.core.quantities import UNITS_REQUIRED, Celsius, Minutes, Seconds

LimitId = NewType("LimitId", str)

_NUMBER: Final = r"[-−]?[0-9]{1,4}(?:\.[0-9]{1,3})?"
_BOTH: Final = re.compile(rf"({_NUMBER})\s*°\s*C\s*\(\s*({_NUMBER})\s*°\s*F\s*\)")
_FURTHEST_APART_C: Final = 1.5
"""Codes round one column to whole degrees, at times upward; beyond this one of the two is a slip of the pen."""


class LimitKind(StrEnum):
    """What is asked, and so how a curve is judged."""

    HEAT = "heat"
    """Every particle at a row's temperature for that row's time; one row is enough."""
    COOL = "cool"
    """Down to each row's temperature within its time; every row counts, from the same start."""
    KEEP = "keep"
    """Within the row's temperatures for as long as it lasts."""
    REACH = "reach"
    """At the row's temperature once, in the core."""
    DRAW = "draw"
    """Within the row's temperatures when it ends."""
    DAYS = "days"
    """Used within so many days, the day it was made being day 1; days frozen do not count."""
    ELAPSED = "elapsed"
    """Done again within so long."""


OF_FOOD: Final = frozenset({LimitKind.HEAT, LimitKind.COOL, LimitKind.REACH, LimitKind.DRAW})
"""Kinds that only a probe in the food can show."""
ON_CURVES: Final = OF_FOOD | {LimitKind.KEEP}
"""Kinds that a curve of temperature can show at all."""


class Degrees(Model):
    """A temperature as printed, in both units; written ``80 °C (175 °F)``."""

    celsius: float = Field(ge=-60, le=300)
    fahrenheit: float = Field(ge=-80, le=600)

    def in_unit(self, unit: Literal["C", "F"]) -> float:
        """The column of a unit, in that unit."""
        return self.celsius if unit == "C" else self.fahrenheit

    def as_celsius(self, unit: Literal["C", "F"]) -> float:
        """The column of a unit, told in °C: for curves and drawings, which count in °C."""
        return self.celsius if unit == "C" else (self.fahrenheit - 32.0) / 1.8

    @model_validator(mode="after")
    def _near(self) -> Self:
        if abs((self.fahrenheit - 32.0) / 1.8 - self.celsius) > _FURTHEST_APART_C:
            raise ValueError("the two temperatures are not the same: write both as printed, like 80 °C (175 °F)")
        return self


def _parse_degrees(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, Degrees) or (isinstance(value, dict) and not (info.context or {}).get(UNITS_REQUIRED)):
        return value
    match = _BOTH.fullmatch(value.strip()) if isinstance(value, str) else None
    if match is None:
        raise ValueError(f"{value!r} lacks one of the two units: write both as printed, like '80 °C (175 °F)'")
    celsius, fahrenheit = (float(text.replace("−", "-")) for text in match.groups())
    return {"celsius": celsius, "fahrenheit": fahrenheit}


_DEGREES_SCHEMA: Final = {"type": "string", "pattern": f"^{_BOTH.pattern}$", "examples": ["80 °C (175 °F)"]}
BothUnits = Annotated[Degrees, BeforeValidator(_parse_degrees), WithJsonSchema(_DEGREES_SCHEMA, mode="validation")]
"""Degrees in both units as printed."""


class LimitRow(Model):
    """One line of a table, or the only line there is."""

    id: str = Field(pattern=r"^[a-z0-9-]+$")
    at_least: BothUnits | None = None
    at_most: BothUnits | None = None
    hold: Seconds | None = None
    """Of heat: how long without a break."""
    begins: BothUnits | None = None
    """Of cooling: the clock starts as the food passes this; left out, it starts with the step."""
    within: Seconds | None = None
    """Of cooling: from that start. Of what is done again: from the last time."""
    least: Seconds | None = None
    """Of keeping: at least so long."""
    most: Seconds | None = None
    """Of keeping: at most so long."""
    days: int | None = Field(default=None, ge=1, le=60)
    """The day it was made is day 1."""
    note: str = ""

    @property
    def asked(self) -> Degrees:
        """The one temperature that is to be reached. Raises: ValueError for a band or none."""
        one = self.at_least if self.at_least is not None else self.at_most
        if one is None or (self.at_least is not None and self.at_most is not None):
            raise ValueError(f"row {self.id} asks for no single temperature")
        return one


_NEEDS: Final[dict[LimitKind, tuple[frozenset[str], frozenset[str]]]] = {
    LimitKind.HEAT: (frozenset({"at_least", "hold"}), frozenset()),
    LimitKind.COOL: (frozenset({"at_most", "within"}), frozenset({"begins"})),
    LimitKind.KEEP: (frozenset(), frozenset({"at_least", "at_most", "least", "most"})),
    LimitKind.REACH: (frozenset({"at_most"}), frozenset()),
    LimitKind.DRAW: (frozenset({"at_least", "at_most"}), frozenset()),
    LimitKind.DAYS: (frozenset({"days", "at_most"}), frozenset()),
    LimitKind.ELAPSED: (frozenset({"within"}), frozenset()),
}
"""What a row of each kind must say, and what it may say besides."""


class Limit(Model):
    """What a code, or practice where no code speaks, asks of a temperature or a time."""

    id: LimitId = Field(pattern=r"^[a-z0-9-]+$")
    title: str = Field(min_length=1)
    kind: LimitKind
    rows: tuple[LimitRow, ...]
    source: str = Field(min_length=1)
    """The text it is printed in; of practice, who says so."""
    edition: str = Field(min_length=1)
    """Which edition of it; of practice, what is known of where it comes from."""
    status: Literal["published", "practice"] = "published"
    """``practice``: what is ordinary in the trade; no source with legal force is known to us."""
    scope: str = Field(min_length=1)
    """Which food and whom it is for."""
    caution: str = Field(min_length=1)
    local_code: str = ""
    """The kitchen's own: by which local code, or whose decision, it replaces what is shipped."""
    never_with: tuple[str, ...] = ()
    """Allergens of foods that it is not for."""
    air: bool = False
    """Of keeping: a probe in the air of the place may show it too; the verdict is then the air's, not the food's."""
    grace: Minutes = 0
    """Of keeping, in air: so long outside before it counts; doors are opened, defrosts run."""
    gap: Minutes = Field(default=5, gt=0, le=1440)
    """Between readings further apart than this nothing is known: ours, no code names it."""

    @model_validator(mode="after")
    def _rows_fit(self) -> Self:
        if not self.rows:
            raise ValueError("there is no row: write what is asked under `rows:`")
        must, may = _NEEDS[self.kind]
        for row in self.rows:
            given = {name for name in row.model_fields_set - {"id", "note"} if getattr(row, name) is not None}
            if not must <= given <= must | may or (self.kind is LimitKind.KEEP and not given & {"at_least", "at_most"}):
                asks = ", ".join(sorted(must or {"at_least or at_most"})) + (
                    f" (and perhaps {', '.join(sorted(may))})" if may else ""
                )
                raise ValueError(f"row {row.id} does not fit the kind {self.kind.value}: a row of it says {asks}")
        if len({row.id for row in self.rows}) != len(self.rows):
            raise ValueError("two rows have one id: give each row an id of its own")
        if self.kind not in (LimitKind.HEAT, LimitKind.COOL) and len(self.rows) > 1:
            raise ValueError(f"the kind {self.kind.value} has one row: keep one")
        if self.air and self.kind is not LimitKind.KEEP:
            raise ValueError("air never shows what the food has reached: take `air` out, or make it `kind: keep`")
        return self

    def row(self, row: str) -> LimitRow:
        """The row of that id. Raises: KeyError."""
        for candidate in self.rows:
            if candidate.id == row:
                return candidate
        raise KeyError(row)

    @property
    def applied(self) -> str:
        """The text that applied, for the record: the kitchen's own where it has one."""
        return self.local_code or f"{self.source}, {self.edition}"


class Refused(Model):
    """Figures that circulate and must not be used as a limit here: named, so that choosing one is answered."""

    id: LimitId = Field(pattern=r"^[a-z0-9-]+$")
    why: str = Field(min_length=1)
    instead: LimitId | None = None


class LimitUse(Model):
    """A step's choice of a limit; written as the limit's id alone, or with a row and a ceiling."""

    id: LimitId
    row: str | None = None
    """Of a table, the row that is aimed at; left out, any row counts."""
    ceiling: Celsius | None = None
    """Never above this (egg sets)."""

    @model_validator(mode="before")
    @classmethod
    def _from_text(cls, data: Any) -> Any:
        return {"id": data} if isinstance(data, str) else data

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: Any, handler: Any) -> dict[str, Any]:
        whole = handler.resolve_ref_schema(handler(core_schema))
        name = {"type": "string", "pattern": r"^[a-z0-9-]+$", "examples": ["frozen-dessert-mix"]}
        return {"anyOf": [name, whole], "description": whole.pop("description", "")}
