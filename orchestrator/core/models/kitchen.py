"""The kitchen: stations, crew with shifts, probes, orders, what is on hand, and all that belongs to it."""

from datetime import datetime, timedelta
from math import ceil
from typing import Annotated, Final, Literal, get_args
from zoneinfo import ZoneInfo

from pydantic import AwareDatetime, Field

from orchestrator.core.ids import CrewId, EquipmentId, LotCode, OrderId, ProbeId, RecipeId, StationId
from orchestrator.core.models.allergen import AllergenList
from orchestrator.core.models.base import Instant, Model
from orchestrator.core.models.buying import Buying
from orchestrator.core.models.calls import CallPlan
from orchestrator.core.models.demand import ParLevel
from orchestrator.core.models.equipment import Equipment
from orchestrator.core.models.ingredient import Ingredient
from orchestrator.core.models.label import LabelBook
from orchestrator.core.models.limit import Limit, LimitId
from orchestrator.core.models.recipe import Recipe
from orchestrator.core.models.rescue import RescueCard
from orchestrator.core.models.tongue import Texts, Ways
from orchestrator.core.quantities import Minutes, Quantity

MOST_DAYS: Final = 28
"""So many days from planning start can be planned at most; a figure of ours. The start moves on, see `core.days`."""


class Station(Model):
    """Where a cook stands, with a screen."""

    id: StationId
    name: str


class Break(Model):
    """Part of a shift in which nobody works."""

    start: AwareDatetime
    end: AwareDatetime


class Shift(Model):
    """When somebody is there."""

    start: AwareDatetime
    end: AwareDatetime
    breaks: tuple[Break, ...] = ()


Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
WEEKDAYS: Final[tuple[Weekday, ...]] = get_args(Weekday)
_CLOCK: Final = r"^([01][0-9]|2[0-3]):[0-5][0-9]$"
_SPAN: Final = r"^([01][0-9]|2[0-3]):[0-5][0-9]-([01][0-9]|2[0-3]):[0-5][0-9]$"


class WeeklyShift(Model):
    """When somebody is there every week, on the kitchen's clock; an end that is not later is the next day's."""

    days: tuple[Weekday, ...] = Field(min_length=1)
    start: str = Field(pattern=_CLOCK)
    end: str = Field(pattern=_CLOCK)
    breaks: tuple[Annotated[str, Field(pattern=_SPAN)], ...] = ()
    """Written ``10:00-10:30``."""


class CrewMember(Model):
    """One of the crew, named by role."""

    id: CrewId
    name: str
    skills: tuple[str, ...]
    shifts: tuple[Shift, ...]
    """All of the days that can be planned, weekly ones written out; see `rota`."""
    weekly: tuple[WeeklyShift, ...] = ()
    away: tuple[Break, ...] = ()
    """Absences that reach beyond the days for which weekly shifts are written out."""
    manager: bool = False
    ways: Ways = Ways()
    """Language, clock and amounts in which they read."""


class Probe(Model):
    """A thermometer and where it sits."""

    id: ProbeId
    name: str
    equipment: EquipmentId
    reads: Literal["core", "air"]
    """``core``: in the food; ``air``: in the room of a store."""
    interval: Minutes = 1
    """How often a reading is expected."""
    silent_after: Minutes = 10


class OrderLine(Model):
    """So much of one product."""

    product: RecipeId
    quantity: Quantity


class Order(Model):
    """So much of some products, due at an instant."""

    id: OrderId = Field(pattern=r"^[A-Z0-9-]+$")
    customer: str
    lines: tuple[OrderLine, ...] = Field(min_length=1)
    due: Instant
    earliest: Instant | None = None
    weight: int = Field(default=1, ge=1)
    """How much a minute late matters, against other orders."""


class StockLot(Model):
    """What is on hand when planning starts."""

    lot: LotCode
    recipe: RecipeId
    quantity: Quantity
    made: AwareDatetime
    use_by: AwareDatetime | None = None
    place: EquipmentId | None = None
    allergens: tuple[str, ...] = ()
    """Beyond those of its recipe: of food that was reworked into it, or of a substitute."""
    of_recipe: tuple[str, ...] | None = None
    """Those of its recipe as it was made, once another revision, or a substitute, has others; none: as it is now."""


class Supply(Model):
    """An ingredient that is not there yet when planning starts: no step takes it sooner."""

    ingredient: str
    """As the recipes' steps call it."""
    ready: AwareDatetime
    why: Literal["delivery", "ripe", "left"] = "delivery"
    """It comes then, or is ripe enough then. ``left``: it comes from nowhere but steps that leave it (see `Leave`)."""
    amount: Quantity | None = None
    """So much is ordered; the sheet of what to order counts on it. Left out, nobody said how much comes."""
    on_hand: Quantity | None = None
    """So much of it is there already, as after a short delivery: only what goes beyond it waits."""
    counted_at: AwareDatetime | None = None
    """When that was so; work that began before took from what was there before."""


class TopicMapping(Model):
    """How readings of a thermometer that speaks its own topics are understood."""

    topic: str
    """MQTT topic filter; a ``+`` may be named by ``probe``."""
    probe: ProbeId | None = None
    probe_level: int | None = None
    """Level of the topic, from 0, that names the probe."""
    celsius: str | None = None
    """JSON Pointer (RFC 6901) to degrees Celsius; the empty pointer is the whole payload."""
    fahrenheit: str | None = None
    measured_at: str | None = None
    seq: str | None = None


class Warnings(Model):
    """How long before a miss people are told, in minutes."""

    window_lead: Minutes = 60
    order_lead: Minutes = 120
    late_start: Minutes = 10
    """How long after its planned start a task that needs hands is called late."""
    probe_check: Minutes = Field(default=30 * 1440, gt=0)
    """So long a check of a probe holds; then another is due. Common practice; local code or its maker may ask more."""
    delivery_wait: Minutes = Field(default=60, gt=0)
    """So much later a delivery is taken to come that is overdue and not received; then as long again. Ours."""
    order_undecided: Minutes = Field(default=1440, gt=0)
    """So long after its time an order not handed over is put before the manager, to be dropped or moved. Ours."""
    yield_short_percent: float = Field(default=2.0, ge=0, le=50)
    """A component that falls short by more is planned anew; less, only the books know. Ours: what scales tell apart."""
    record_review_days: int = Field(default=7, ge=1, le=60)
    """Working days after it was made a record is to be looked through; see `record_review`. Local code may ask less."""


class Kitchen(Model):
    """Everything a plan is made from, but for what has already happened."""

    name: str
    time_zone: str
    planning_start: AwareDatetime
    """Minute 0 of plans; it moves on with the days."""
    begun: AwareDatetime | None = None
    """When planning first started, once it has moved on."""
    horizon_days: int = Field(default=5, ge=1, le=MOST_DAYS)
    """So many days are planned; they follow orders that are due later, up to `MOST_DAYS`."""
    temperature_unit: Literal["C", "F"] = "C"
    altitude_m: float = Field(default=0, ge=-450, le=5500)
    """Above the sea, metres: how hot a pan gets while water remains in it depends on it."""
    stations: tuple[Station, ...]
    equipment: tuple[Equipment, ...]
    crew: tuple[CrewMember, ...]
    probes: tuple[Probe, ...] = ()
    mappings: tuple[TopicMapping, ...] = ()
    recipes: tuple[Recipe, ...]
    former: tuple[Recipe, ...] = ()
    """Revisions that were replaced: a batch keeps the one it began with."""
    orders: tuple[Order, ...]
    stock: tuple[StockLot, ...] = ()
    supplies: tuple[Supply, ...] = ()
    """Of ingredients that are not there from the start; all others are."""
    par_levels: tuple[ParLevel, ...] = ()
    """What each counter is to have in the morning; a closing count says what of it is missing."""
    warnings: Warnings = Warnings()
    limits: tuple[Limit, ...] = ()
    """What is shipped, with the kitchen's own in its place."""
    cards: tuple[RescueCard, ...] = ()
    """Rescue cards: shipped, with the kitchen's own in their place."""
    ingredients: tuple[Ingredient, ...] = ()
    """What ingredients are made of: shipped, with the kitchen's own in their place, and its prices."""
    currency: str = ""
    """Of its prices, by three letters (ISO 4217); empty where its files do not say."""
    allergens: tuple[AllergenList, ...] = ()
    """As laws name them; shipped. Without any, words are printed as recipes write them."""
    allergen_lists: tuple[str, ...] = ("us", "eu")
    """Ids of the lists that it prints."""
    ways: Ways = Ways()
    """How screens read where nobody chose: English, 24 hours and metric unless it says otherwise."""
    texts: tuple[Texts, ...] = ()
    """What its files say, in other languages."""
    labels: LabelBook = LabelBook()
    buying: Buying = Buying()
    calls: CallPlan = CallPlan()
    """Whom it calls when nobody there sees an alarm; taken over anew whenever the file has changed."""

    @property
    def first_start(self) -> datetime:
        """When planning first started: what is older was there before the record."""
        return self.planning_start if self.begun is None else self.begun

    @property
    def planned_until(self) -> datetime:
        """Where the planned days end; they move on with time."""
        return self.planning_start + timedelta(days=self.horizon_days)

    @property
    def orders_until(self) -> datetime:
        """Until when an order may be due: the planned days follow it so far."""
        return self.planning_start + timedelta(days=MOST_DAYS)

    def reaching(self, due: datetime) -> "Kitchen":
        """The kitchen with as many planned days as an order that is due then needs; never fewer than now."""
        days = min(MOST_DAYS, ceil((due - self.planning_start) / timedelta(days=1)))
        return self if days <= self.horizon_days else self.model_copy(update={"horizon_days": days})

    def local(self, instant: datetime) -> datetime:
        """The instant on the kitchen's own clock."""
        return instant.astimezone(ZoneInfo(self.time_zone))

    def when(self, instant: datetime) -> str:
        """The same as sentences have it: 'Thu 26 Nov 09:00'."""
        return self.local(instant).strftime("%a %d %b %H:%M")

    def made_by(self, recipe: RecipeId, revision: int | None) -> Recipe | None:
        """The recipe as a batch of that revision was begun with; without a revision, as it is now.

        Returns:
            None where the recipe, or that revision of it, is not known.
        """
        if revision is None:
            return next((r for r in self.recipes if r.id == recipe), None)
        known = (*self.recipes, *self.former)
        return next((r for r in known if r.id == recipe and r.revision == revision), None)

    def limit(self, limit: LimitId) -> Limit | None:
        """The limit of that id, if there is one."""
        return next((candidate for candidate in self.limits if candidate.id == limit), None)
