"""How a product or a component is made: recipes, steps, windows, gates and targets."""

from enum import StrEnum
from typing import Final, Literal, Self

from pydantic import Field, model_validator

from orchestrator.core.ids import RecipeId, StationId, StepId
from orchestrator.core.models.base import Model
from orchestrator.core.models.limit import LimitUse
from orchestrator.core.quantities import Celsius, Minutes, Quantity


class Process(StrEnum):
    """What a step does to the food, in the words of the trade."""

    WEIGH = "weigh"
    BLANCH = "blanch"
    SHOCK = "shock"
    BLEND = "blend"
    SIMMER = "simmer"
    REDUCE = "reduce"
    DEHYDRATE = "dehydrate"
    GRIND = "grind"
    ROAST = "roast"
    COOK = "cook"
    CHILL = "chill"
    AGE = "age"
    MIX = "mix"
    CHURN = "churn"
    HARDEN = "harden"
    STORE = "store"
    BAKE = "bake"
    TEMPER = "temper"
    HAND_OVER = "hand over"
    CLEAN = "clean"
    PRECOOL = "pre-cool"


class WindowClass(StrEnum):
    """How hard a window is: see `Link` and `Stay`."""

    SAFETY = "safety"
    """Never planned broken; broken in fact, the lot goes on hold."""
    QUALITY = "quality"
    """Broken only by a named person with a reason, or when already unavoidable."""
    PREFERENCE = "preference"
    """Traded off by the planner."""


class Duration(Model):
    """Shortest, usual and longest minutes of a step at its batch size."""

    shortest: Minutes = Field(ge=0)
    usual: Minutes = Field(ge=0)
    longest: Minutes = Field(ge=0)

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if not self.shortest <= self.usual <= self.longest:
            raise ValueError("shortest, usual and longest must not decrease in this order")
        return self


class Cycle(Model):
    """Short-cycle work: trays of so many pieces, so many minutes each, one task with a count."""

    pieces: int = Field(gt=0)
    """Pieces a tray."""
    each: Minutes = Field(gt=0)
    """Minutes a tray, shaping included."""


class Attended(Model):
    """A portion of a step that needs hands; the rest runs on its own."""

    when: Literal["throughout", "start", "end"]
    minutes: Minutes | None = None
    """How long, for ``start`` and ``end``."""

    @model_validator(mode="after")
    def _minutes_fit(self) -> Self:
        if (self.minutes is None) != (self.when == "throughout"):
            raise ValueError("give minutes with 'start' and 'end', and none with 'throughout'")
        return self


class Link(Model):
    """A step may follow another no sooner than ``least`` and no later than ``most`` after its end."""

    step: StepId
    least: Minutes = Field(default=0, ge=0)
    most: Minutes | None = Field(default=None, ge=0)
    window: WindowClass = WindowClass.QUALITY


class Stay(Model):
    """A step that fills a store between two tasks: it begins as the step before it ends, and ends as
    the next begins (age 12 to 72 h, use within 5 days)."""

    least: Minutes = Field(default=0, ge=0)
    most: Minutes | None = Field(default=None, ge=0)
    window: WindowClass = WindowClass.QUALITY


class Take(Model):
    """What a step takes in, at the recipe's nominal yield: an ingredient, or another recipe's component."""

    ingredient: str | None = None
    component: RecipeId | None = None
    amount: Quantity
    allergens: tuple[str, ...] = ()
    """Allergens of an ingredient, named (``milk``, ``egg``, ``hazelnut``, ``wheat``)."""

    @model_validator(mode="after")
    def _one_of_both(self) -> Self:
        if (self.ingredient is None) == (self.component is None):
            raise ValueError("name either an ingredient or a component")
        return self


class Leave(Model):
    """What a step leaves over, for other recipes: whites left of eggs, juice left where only zest is wanted.

    It is on hand from the end of the step on, dated, and counts as an ingredient of that name.
    """

    ingredient: str = Field(min_length=1)
    """As the steps that want it call it."""
    amount: Quantity
    """Expected, at the recipe's nominal yield; whoever finishes the step may weigh it."""
    of: str | None = Field(default=None, min_length=1)
    """The ingredient of this step that it is a part of, whose allergens and date it has; left out, it has those of all
    that has gone into the batch by then."""
    keeps: Minutes | None = Field(default=None, gt=0)
    """Safety: not used after it, counted from the end of the step; never later than what it comes from."""
    kept_in: str | None = None
    """Kind of store where it is kept."""
    room: Quantity | None = None
    """How much of that store's capacity it takes at the nominal yield; left out, its amount where the units agree."""
    allergens: tuple[str, ...] = ()
    """Beyond those that it inherits."""


class Gate(Model):
    """What must be so before a step may start."""

    at_most: Celsius | None = None
    at_least: Celsius | None = None
    of: Literal["before", "equipment"] = "before"
    """Whose temperature: ``before`` is the food, read where the step before kept it;
    ``equipment`` is the machine this step uses."""
    says: str
    """The gate in words, such as 'Base at most 4 °C'."""

    @model_validator(mode="after")
    def _one_bound(self) -> Self:
        if (self.at_most is None) == (self.at_least is None):
            raise ValueError("give either at_most or at_least")
        return self


class Target(Model):
    """A temperature that a step must reach, and how long it must be held there."""

    at_least: Celsius | None = None
    at_most: Celsius | None = None
    hold: Minutes = 0
    ceiling: Celsius | None = None
    """Never above this (egg sets)."""

    @model_validator(mode="after")
    def _one_bound(self) -> Self:
        if (self.at_most is None) == (self.at_least is None):
            raise ValueError("give either at_most or at_least")
        return self

    @property
    def celsius(self) -> float:
        """The one bound that it has, °C."""
        bound = self.at_most if self.at_most is not None else self.at_least
        assert bound is not None
        return bound


class Reckon(Model):
    """The usual minutes are worked out from the mix, and held between shortest and longest: a hardening by its tub, a
    reduction by what the hob drives off."""

    tub_mm: float | None = Field(default=None, gt=10, le=500)
    """Least dimension of the tubs, millimetres."""
    drives_off_kg_per_h: float | None = Field(default=None, gt=0, le=100)
    """Water that goes in an hour on this kitchen's hob, kg: weigh a pot before and after."""

    @model_validator(mode="after")
    def _one_of_both(self) -> Self:
        if (self.tub_mm is None) == (self.drives_off_kg_per_h is None):
            raise ValueError("reckon takes one figure: write tub_mm to harden, drives_off_kg_per_h to reduce")
        return self


class UsualMinutes(Model):
    """What the usual minutes of a step become."""

    recipe: RecipeId
    step: StepId
    usual: Minutes = Field(ge=0)


LOSES_WATER: Final = frozenset({Process.SIMMER, Process.REDUCE, Process.DEHYDRATE})
"""What can be followed by its weight."""


class Measure(StrEnum):
    """What a cook enters when finishing a step."""

    WEIGHT_KG = "weight_kg"
    VOLUME_L = "volume_l"
    COUNT = "count"
    BRIX = "brix"
    TEMPERATURE_C = "temperature_c"


class Step(Model):
    """One stage of a recipe."""

    id: StepId = Field(pattern=r"^[a-z0-9-]+$")
    process: Process
    title: str
    """Verb first, as the cook reads it: 'Cook the custard base'."""
    station: StationId | None = None
    """Where a cook stands; left out, the station of the equipment."""
    equipment: str | None = None
    """Kind of equipment; any machine of that kind will do."""
    load: Quantity | None = None
    """How much of the equipment's capacity the step takes at the nominal yield."""
    duration: Duration | None = None
    cycle: Cycle | None = None
    stay: Stay | None = None
    """Exactly one of duration, cycle and stay."""
    attended: tuple[Attended, ...] = ()
    skill: str | None = None
    hands: int = Field(default=1, ge=1, le=2)
    after: tuple[Link, ...] | None = None
    """Steps of the same recipe that come before; left out, the step written just above."""
    takes: tuple[Take, ...] = ()
    leaves: tuple[Leave, ...] = ()
    """By-products: what is left over for other recipes as the step ends."""
    gates: tuple[Gate, ...] = ()
    target: Target | None = None
    limit: LimitUse | None = None
    """The limit that a code sets for this step, judged beside the target; without a target, it is aimed at."""
    frozen: bool | None = None
    """Whether the food freezes here or is kept frozen, which pauses its shelf life; left out, churning and hardening
    freeze. ``false`` after a step that froze says that it thaws here, as tempering does without it."""
    critical: bool = False
    """A critical limit: skipping it puts the lot on hold."""
    measure: Measure | None = None
    reduce_to: float | None = Field(default=None, gt=0, lt=1)
    """By weight: done when it weighs this share of what it weighed first, as in ``0.75``."""
    reckon: Reckon | None = None
    """How the usual minutes are worked out; left out, they are as written under ``duration``."""
    loss: Quantity | None = None
    """What stays in the machine, per run, in the unit of the recipe's yield."""
    per: Literal["batch", "order"] = "batch"
    """``order``: done once for each order line (temper, hand over)."""
    method: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def freezes(self) -> bool:
        """Whether shelf lives stand still from its start on."""
        return self.process in (Process.CHURN, Process.HARDEN) if self.frozen is None else self.frozen

    @property
    def thaws(self) -> bool:
        """Whether shelf lives that freezing stopped go on from its start: after a step that freezes, tempering thaws,
        and what says that it is not frozen does."""
        return self.process is Process.TEMPER if self.frozen is None else not self.frozen

    @property
    def _can_reckon(self) -> bool:
        if self.reckon is None or self.duration is None:
            return False
        return self.process is Process.HARDEN if self.reckon.tub_mm is not None else self.reduce_to is not None

    @model_validator(mode="after")
    def _one_length(self) -> Self:
        if sum(x is not None for x in (self.duration, self.cycle, self.stay)) != 1:
            raise ValueError("give exactly one of duration, cycle and stay")
        if self.stay is not None and self.attended:
            raise ValueError("a stay needs no hands: give the attended work to the step before or after")
        if self.attended and self.skill is None:
            raise ValueError("attended work needs a skill")
        if self.reduce_to is not None and (self.duration is None or self.process not in LOSES_WATER):
            names = ", ".join(sorted(process.value for process in LOSES_WATER))
            raise ValueError(f"reduce_to is for work that loses water ({names}), with a duration: take it out")
        if self.reckon is not None and not self._can_reckon:
            raise ValueError(
                "reckon is for hardening with tub_mm, or a step with reduce_to, with a duration: take it out"
            )
        return self


class Colour(StrEnum):
    """How much colour a run leaves in a machine, from least to most."""

    PALE = "pale"
    MEDIUM = "medium"
    DEEP = "deep"

    @property
    def depth(self) -> int:
        """The deeper the higher."""
        return list(Colour).index(self)


class BatchSize(Model):
    """Least and most output of one batch."""

    least: Quantity
    most: Quantity


class Recipe(Model):
    """How a product or component is made; a batch keeps the revision it began with."""

    id: RecipeId = Field(pattern=r"^[a-z0-9-]+$")
    name: str
    code: str = Field(pattern=r"^[A-Z]{1,2}$")
    """Letters of its lot codes."""
    revision: int = Field(default=1, ge=1)
    makes: Literal["product", "component"]
    yields: Quantity
    """Output at the amounts written in the steps, before machine losses."""
    batch: BatchSize
    base: str | None = None
    """Runs of the same base, back to back, need no clean-down between them."""
    colour: Colour | None = None
    """A paler run after a deeper one needs a full clean; left out, colour does not matter."""
    allergens: tuple[str, ...] = ()
    """Allergens beyond those of the ingredients and components."""
    shelf_life: Minutes | None = None
    """Safety: not used after it, counted from its last work; freezing pauses it."""
    portion: Quantity | None = None
    """What is served at a time, for portions and their cost; left out, 100 ml."""
    best_before: Minutes | None = Field(default=None, gt=0)
    """Quality: at its best for so long from its last work on; printed on labels, never later than the use-by."""
    steps: tuple[Step, ...] = Field(min_length=1)

    @property
    def ends_frozen(self) -> bool:
        """Whether a finished batch is frozen: some step of it freezes, and none after the last of those thaws."""
        frozen = False
        for step in self.steps:
            if step.per == "batch":
                frozen = step.freezes or (frozen and not step.thaws)
        return frozen

    def step(self, step: StepId) -> Step:
        """The step of that id. Raises: KeyError."""
        for candidate in self.steps:
            if candidate.id == step:
                return candidate
        raise KeyError(step)
