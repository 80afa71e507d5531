"""What may stand in each kind of file."""

from datetime import timedelta
from typing import Annotated, Any, Final, Literal, Self
from zoneinfo import ZoneInfo

from pydantic import BeforeValidator, Field, PrivateAttr, ValidationInfo, WithJsonSchema, model_validator

from orchestrator.core.ids import CrewId
from orchestrator.core.models import (
    Break,
    CrewMember,
    Equipment,
    Maintenance,
    Model,
    Order,
    Probe,
    Recipe,
    Shift,
    Station,
    StockLot,
    Supply,
    TopicMapping,
    Warnings,
)
from orchestrator.core.models.alarm import Priority
from orchestrator.core.models.allergen import AllergenList
from orchestrator.core.models.buying import Bought, Supplier
from orchestrator.core.models.calls import CallPlan
from orchestrator.core.models.demand import ParLevel
from orchestrator.core.models.ingredient import Ingredient, Price
from orchestrator.core.models.kitchen import Weekday, WeeklyShift
from orchestrator.core.models.label import LabelSheet, ProductLabel
from orchestrator.core.models.limit import Limit, Refused
from orchestrator.core.models.rescue import RescueCard
from orchestrator.core.models.tongue import AmountsIn, Clock, Language, Ways
from orchestrator.core.quantities import Minutes
from orchestrator.core.rota import LONGEST_SHIFT
from orchestrator.kitchen.call_files import CalleeInFile
from orchestrator.kitchen.local_time import (
    BREAK_PATTERN,
    CLOCK_PATTERN,
    DAY_PATTERN,
    ZONE,
    LocalInstant,
    parse_clock,
    parse_day,
    span_utc,
)

CURRENCY_PATTERN: Final = r"^[A-Z]{3}$"
_ANY_DAY: Final = "2026-01-05"
"""A Monday on which no clock is changed."""


def _known_zone(value: Any) -> Any:
    try:
        ZoneInfo(value)
    except (KeyError, ValueError, TypeError, OSError):
        raise ValueError(f"{value!r} is no time zone: write a name of the IANA list, like Europe/London") from None
    return value


ZoneName = Annotated[
    str, BeforeValidator(_known_zone), WithJsonSchema({"type": "string", "examples": ["Europe/London"]})
]


class KitchenFile(Model):
    """kitchen.yaml: the kitchen as a whole."""

    name: str = Field(min_length=1)
    time_zone: ZoneName
    """Name of the IANA time zone whose clock hangs on the wall."""
    planning_start: LocalInstant
    """The first minute that is planned."""
    horizon_days: int = Field(default=5, ge=1, le=14)
    temperature_unit: Literal["C", "F"] = "C"
    language: Language = "en"
    """Of screens at which nobody chose another, of messages to people and of printed labels."""
    clock: Clock = "24"
    amounts: AmountsIn = "metric"
    """In which screens write weights and volumes; records keep metric ones."""
    altitude_m: float = Field(default=0, ge=-450, le=5500)
    """Above the sea, metres: the higher, the cooler water boils."""
    stations: tuple[Station, ...] = Field(min_length=1)
    warnings: Warnings = Warnings()
    par_levels: tuple[ParLevel, ...] = ()
    """What each counter is to have in the morning."""
    allergen_lists: tuple[str, ...] = Field(default=("us", "eu"), min_length=1)
    """Which lists of allergens its labels and screens follow. With both, whatever either names is named."""


class ShiftInFile(Model):
    """When somebody is there, on the kitchen's clock; ``to`` not later than ``from`` is the next day.

    Either on one ``day``, or on these days of ``every`` week; on a day that has a shift of its own, that holds alone.
    """

    day: str | None = Field(default=None, pattern=DAY_PATTERN)
    every: tuple[Weekday, ...] = ()
    from_: str = Field(alias="from", pattern=CLOCK_PATTERN)
    to: str = Field(pattern=CLOCK_PATTERN)
    breaks: tuple[Annotated[str, Field(pattern=BREAK_PATTERN)], ...] = ()
    """Written ``"10:00-10:30"``."""
    _shift: Shift = PrivateAttr()

    @model_validator(mode="after")
    def _to_instants(self, info: ValidationInfo) -> Self:
        if (self.day is None) == (not self.every):
            raise ValueError("a shift is on one `day`, or on days of `every` week: write one of the two")
        # Weekly ones are tried on a day without a change of clocks; `rota` writes them out.
        zone = (info.context or {}).get(ZONE) if self.day is not None else None
        zone, day = zone or ZoneInfo("UTC"), parse_day(self.day or _ANY_DAY)
        start, end = span_utc(day, parse_clock(self.from_), parse_clock(self.to), zone)
        if end - start > LONGEST_SHIFT:
            hours = (end - start).total_seconds() / 3600
            raise ValueError(
                f"the shift from {self.from_} to {self.to} lasts {hours:g} h: swap the two times, or split it"
            )
        breaks: list[Break] = []
        for text in self.breaks:
            first, last = (parse_clock(part) for part in text.split("-"))
            after_midnight = first < parse_clock(self.from_)
            rest = span_utc(day + timedelta(days=after_midnight), first, last, zone)
            if not (start <= rest[0] < rest[1] <= end):
                raise ValueError(f"the break {text} lies outside the shift: keep it between {self.from_} and {self.to}")
            if breaks and rest[0] < breaks[-1].end:
                raise ValueError(f"the break {text} begins before the one above ends: write them in order, apart")
            breaks.append(Break(start=rest[0], end=rest[1]))
        self._shift = Shift(start=start, end=end, breaks=tuple(breaks))
        return self

    @property
    def shift(self) -> Shift | None:
        """The same in aware UTC; none for one of every week."""
        return self._shift if self.day is not None else None

    @property
    def weekly(self) -> WeeklyShift | None:
        """The same as one of every week; none for one of a day."""
        return WeeklyShift(days=self.every, start=self.from_, end=self.to, breaks=self.breaks) if self.every else None


class CrewMemberInFile(Model):
    """One of the crew, named by role."""

    id: CrewId
    name: str
    skills: tuple[str, ...]
    shifts: tuple[ShiftInFile, ...]
    manager: bool = False
    language: Language | None = None
    """In which they read; left out, as the kitchen has it. They can choose another at any screen."""
    clock: Clock | None = None
    amounts: AmountsIn | None = None

    def to_core(self) -> CrewMember:
        """With dated shifts in aware UTC, in order of time; weekly ones are still to be written out."""
        dated = (entry.shift for entry in self.shifts if entry.shift is not None)
        shifts = tuple(sorted(dated, key=lambda shift: shift.start))
        weekly = tuple(entry.weekly for entry in self.shifts if entry.weekly is not None)
        ways = Ways(language=self.language, clock=self.clock, amounts=self.amounts)
        plain = {"id": self.id, "name": self.name, "skills": self.skills, "manager": self.manager}
        return CrewMember.model_validate({**plain, "shifts": shifts, "weekly": weekly, "ways": ways})


class OrderInFile(Order):
    """So much of some products, due at a time on the kitchen's clock."""

    due: LocalInstant
    earliest: LocalInstant | None = None

    def to_core(self) -> Order:
        """The plain order."""
        return Order(**{name: getattr(self, name) for name in Order.model_fields})


class StockLotInFile(StockLot):
    """What is on hand when planning starts, with times on the kitchen's clock."""

    made: LocalInstant
    use_by: LocalInstant | None = None

    def to_core(self) -> StockLot:
        """The plain lot."""
        return StockLot(**{name: getattr(self, name) for name in StockLot.model_fields})


class MaintenanceInFile(Maintenance):
    """A planned stop of a machine, with times on the kitchen's clock."""

    start: LocalInstant
    end: LocalInstant


class EquipmentInFile(Equipment):
    """A machine, or a place with a capacity."""

    maintenance: tuple[MaintenanceInFile, ...] = ()

    def to_core(self) -> Equipment:
        """The plain machine."""
        plain = {name: getattr(self, name) for name in Equipment.model_fields}
        stops = (Maintenance(start=stop.start, end=stop.end, why=stop.why) for stop in self.maintenance)
        return Equipment(**plain | {"maintenance": tuple(sorted(stops, key=lambda stop: stop.start))})


class EquipmentFile(Model):
    """equipment.yaml: machines, and places with a capacity."""

    equipment: tuple[EquipmentInFile, ...]


class CrewFile(Model):
    """crew.yaml: people by role, with skills and shifts."""

    crew: tuple[CrewMemberInFile, ...]


class ProbesFile(Model):
    """probes.yaml: thermometers, and how their messages are understood."""

    probes: tuple[Probe, ...] = ()
    mappings: tuple[TopicMapping, ...] = ()


class OrdersFile(Model):
    """orders.yaml: what is wanted, and when."""

    orders: tuple[OrderInFile, ...]


class StockFile(Model):
    """stock.yaml: what is on hand when planning starts."""

    stock: tuple[StockLotInFile, ...]


class SupplyInFile(Supply):
    """An ingredient that comes or ripens later, with its time on the kitchen's clock."""

    ready: LocalInstant
    counted_at: LocalInstant | None = None

    def to_core(self) -> Supply:
        """The plain supply."""
        return Supply(**{name: getattr(self, name) for name in Supply.model_fields})


class SuppliesFile(Model):
    """supplies.yaml: ingredients that are not there when planning starts."""

    supplies: tuple[SupplyInFile, ...]


class LimitsFile(Model):
    """limits.yaml: what codes and practice ask of temperatures and times."""

    limits: tuple[Limit, ...]
    refused: tuple[Refused, ...] = ()
    """Figures that circulate and cannot be chosen."""


class AllergensFile(Model):
    """allergens.yaml: allergens as laws name them."""

    lists: tuple[AllergenList, ...]


class RescueFile(Model):
    """rescue.yaml: what still helps when something goes wrong beside a step."""

    cards: tuple[RescueCard, ...]


class IngredientsFile(Model):
    """ingredients.yaml: what ingredients are made of, and what the kitchen pays for them."""

    ingredients: tuple[Ingredient, ...]
    prices: tuple[Price, ...] = ()
    currency: str = Field(default="", pattern=CURRENCY_PATTERN)
    """Of the prices: three capital letters. Source: ISO 4217."""


class LabelsFile(Model):
    """labels.yaml: sheets of labels, what stands on a label, and what it needs of each product."""

    sheets: tuple[LabelSheet, ...] = ()
    template: tuple[str, ...] = ()
    languages: tuple[Language, ...] = ()
    """In which labels are printed, the first one first; left out, the language of kitchen.yaml."""
    products: tuple[ProductLabel, ...] = ()


class SuppliersFile(Model):
    """suppliers.yaml: who delivers what, and until when it can be ordered."""

    suppliers: tuple[Supplier, ...] = ()
    ingredients: tuple[Bought, ...] = ()


class TextsFile(Model):
    """texts.es.yaml, or a file in texts.es/: what the kitchen's files say, in Spanish, by the text itself."""

    texts: dict[str, str]


class NotifyFile(Model):
    """notify.yaml: whom the kitchen calls when nobody there sees an alarm. No address stands in it."""

    people: tuple[CalleeInFile, ...]
    """In the order in which they are called; ``[]``: nobody is."""
    priorities: tuple[Priority, ...] = (Priority.CRITICAL, Priority.WARNING)
    """Which alarms call; critical ones always do."""
    first_after: Minutes = Field(default=5, ge=0)
    """So long an alarm may stand unseen while somebody is on shift; with nobody there the first is called at once."""
    next_after: Minutes = Field(default=10, ge=1)
    """So long after a call the next person is called, if nobody has seen the alarm."""
    again_after: Minutes = Field(default=30, ge=1)
    """So long after the call to the last person it begins again with the first."""

    def to_core(self) -> CallPlan:
        """The plain call plan."""
        people = tuple(one.to_core() for one in self.people)
        return CallPlan(**{name: getattr(self, name) for name in CallPlan.model_fields} | {"people": people})


class RecipeFile(Recipe):
    """recipes/<id>.yaml: how one product or component is made."""


KINDS: Final[dict[str, type[Model]]] = {
    "kitchen": KitchenFile,
    "equipment": EquipmentFile,
    "crew": CrewFile,
    "probes": ProbesFile,
    "orders": OrdersFile,
    "stock": StockFile,
    "supplies": SuppliesFile,
    "limits": LimitsFile,
    "rescue": RescueFile,
    "ingredients": IngredientsFile,
    "allergens": AllergensFile,
    "labels": LabelsFile,
    "suppliers": SuppliersFile,
    "notify": NotifyFile,
    "texts": TextsFile,
    "recipe": RecipeFile,
}
"""File kinds by name."""
