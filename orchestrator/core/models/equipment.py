"""Machines and places: what they hold, how they are cleaned and cooled, and when they stand still."""

from enum import StrEnum
from math import ceil
from typing import Self

from pydantic import AwareDatetime, Field, model_validator

from orchestrator.core.ids import EquipmentId, StationId
from orchestrator.core.models.base import Model
from orchestrator.core.quantities import Celsius, Minutes, Quantity


class Floor(StrEnum):
    """Where on the way down from fire to freezer a place lies; the board is drawn in this order."""

    HANDS = "hands"
    WARM = "warm"
    COLD = "cold"
    CHURN = "churn"
    HARD = "hard"


class Cleaning(Model):
    """Clean-down between two batches on one machine; never traded away."""

    rinse: Minutes
    """When neither an allergen nor depth of colour drops."""
    full: Minutes
    """When an allergen drops, or a paler run follows a deeper one: a full, verified clean."""
    skill: str
    every: Minutes | None = Field(default=None, gt=0)
    """Longest time in use without a thorough clean, counted from the first run after a full, hygiene or day-end clean.

    Source: FDA Food Code 2022, 4-602.11(C): surfaces in use with food that must be kept hot or cold for safety are
    cleaned throughout the day at least every 4 hours. (D) allows less often, among others: equipment used in a
    refrigerated room, every 10 to 24 hours by how cold it is; vessels that keep food at its temperature and are cleaned
    when empty; and what the authority has approved for a given use. Local code decides.
    """
    hygiene: Minutes | None = Field(default=None, gt=0)
    """Of the clean that is due then; left out, as long as a full one."""

    @property
    def hygiene_min(self) -> int:
        """Minutes of a hygiene clean."""
        return self.full if self.hygiene is None else self.hygiene

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.hygiene is not None and not self.rinse <= self.hygiene <= self.full:
            raise ValueError("a hygiene clean takes no less than a rinse and no more than a full clean")
        return self


class Precool(Model):
    """A machine is cooled right before a run, unless it ran or was cooled a short while ago. It needs no hands."""

    minutes: Minutes = Field(gt=0)
    keeps: Minutes
    """How long it stays cold enough after that, and after a run."""

    @model_validator(mode="after")
    def _keeps_longer(self) -> Self:
        if self.keeps < self.minutes:
            raise ValueError("a pre-cool must keep at least as long as it takes")
        return self


class DayEnd(Model):
    """The clean after a day's last run, before the last who can do it go home; the machine is clean for anything."""

    minutes: Minutes = Field(gt=0)
    skill: str


class Band(Model):
    """Between which temperatures a store is kept; no ``low`` means: the colder the better."""

    low: Celsius | None = None
    high: Celsius
    grace: Minutes = 15
    """How long outside before it matters: doors are opened, defrosts run."""
    deadband_c: float = Field(default=0.5, ge=0, le=5)
    """So far inside a store must be to be called back, in kelvin: a curve at its limit is one alarm, not many."""
    off_delay: Minutes = 3
    """So long it must stay there to be called back, minutes."""


class DefrostClock(Model):
    """When a freezer defrosts itself, as its manual says: so that its first defrosts are known as such.

    Left out, they are learned from three rises of the air at even distances. With it, a rise no longer than ``longest``
    is let pass until two have come at the distance of ``every``: its hour is not known before.
    """

    every: Minutes = Field(ge=120, le=2880)
    """From the beginning of one to the beginning of the next; more often than every two hours, it is the door."""
    longest: Minutes = Field(ge=10, le=90)
    """How long the air may be warmer than the store is kept: the defrost itself, and until it is cold again."""


class Heat(Model):
    """How a freezer slows down when much warm food is in it at once.

    Its cooling power is shared: while more than ``alone`` is being frozen, all of it takes longer. Both figures are
    the kitchen's own, from its records, or common practice; no standard gives them.
    """

    alone: Quantity
    """So much warm food freezes within the recipes' minutes."""
    crowded: float = Field(ge=1, le=10)
    """With more, the minutes are multiplied by this."""


class Maintenance(Model):
    """A planned stop of a machine, known beforehand; it may be cleaned meanwhile."""

    start: AwareDatetime
    end: AwareDatetime
    why: str = ""
    """In words, such as 'Door seal renewed'."""

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.end <= self.start:
            raise ValueError("maintenance must end after it starts")
        return self


class Equipment(Model):
    """A machine or a place with a capacity."""

    id: EquipmentId
    name: str
    kind: str
    """What steps ask for: ``hob``, ``ice bath``, ``churn`` ..."""
    station: StationId
    floor: Floor
    capacity: Quantity | None = None
    """Most it takes at once; none: one task at a time, of any size."""
    least: Quantity | None = None
    """Least of a run (a churn that draws air below it)."""
    shared: bool = False
    """True: several tasks at once until the capacity is filled (fridge, freezer, oven trays)."""
    store: bool = False
    """True: drawn as a store, in which lots stay."""
    heated: bool = False
    """True: it stays hot from the first use of a day to the last (an oven), which costs energy between them."""
    holds: Band | None = None
    defrosts: DefrostClock | None = None
    """Of a freezer: the clock of its defrosts, where its manual tells it."""

    cleaning: Cleaning | None = None
    precool: Precool | None = None
    day_end: DayEnd | None = None
    cautions: tuple[str, ...] = ()
    speed: float = Field(default=1.0, ge=0.1, le=10)
    """Against the recipes' minutes: work on a machine of 0.8 takes a quarter longer, rounded up to whole minutes."""

    heat: Heat | None = None
    """Of a freezer: when work in it takes longer."""
    maintenance: tuple[Maintenance, ...] = ()
    """When it cannot be used, as far as it is known beforehand."""

    def minutes(self, usual: int, crowded: float = 1.0) -> int:
        """How long work takes on this machine.

        Args:
            usual: Minutes as the recipe writes them.
            crowded: What they are multiplied by, for other warm food in it.

        Returns:
            Whole minutes, rounded up.
        """
        # The hair taken off keeps 30 / 0.6, which is 50.000000000000007 in binary, at 50.
        return ceil(usual * crowded / self.speed - 1e-6)
