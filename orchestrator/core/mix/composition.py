"""What a recipe is made of: its lines in grams, components all the way down, trim taken off, water driven off."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from orchestrator.core.ids import RecipeId, StepId
from orchestrator.core.mix.book import Book, grams_of
from orchestrator.core.models import Process, Recipe, Step, Take
from orchestrator.core.models.recipe import Leave
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.thermal.mix import (
    UNKNOWN,
    WATER,
    Parts,
    blend,
    density_kg_per_l,
    reduced,
    unknown_row,
    weight_g,
)

_DENSITY_SPREAD = 0.03
"""A component's density may be uncertain by so large a share, for what is unknown in it, to measure it by the litre."""


class Lack(StrEnum):
    """Why a line cannot be counted in full."""

    ROW = "no row"
    """The ingredient is not in the table: its weight counts, what it is made of does not."""
    DENSITY = "no density"
    """It is measured by volume, and nobody said how dense it is."""
    PIECE = "no weight of a piece"
    UNIT = "no weight of a tray"
    COMPONENT = "no such component"
    LOOP = "takes itself"
    INSIDE = "not all of the component is known"
    TOO_MUCH_WATER = "more water than there is"
    """A step drives off more water than went in."""
    DRIED = "dried to nobody knows what"
    """It is dried, and neither a weight nor a share says how far."""


@dataclass(frozen=True, slots=True)
class Missing:
    """A line, and what is missing for it."""

    recipe: RecipeId
    name: str
    amount: Quantity | None
    lack: Lack
    grams: float | None
    """What it weighs, where that is known."""


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """One thing that a step takes in."""

    step: StepId
    name: str
    component: RecipeId | None
    amount: Quantity
    grams: float | None
    """As weighed, trim included; nothing where it cannot be told."""
    per_gram: Parts
    """What each of those grams leaves at the end of the recipe."""
    cost: float | None
    later: bool = False
    """Taken after the churn: folded in, not part of the mix that freezes."""


@dataclass(frozen=True, slots=True)
class Reduction:
    """Water driven off in a step."""

    step: StepId
    before_g: float
    off_g: float


@dataclass(frozen=True, slots=True, eq=False)
class Composition:
    """A recipe's composition; all weights in g at the amounts written, times the scale asked for."""

    recipe: Recipe
    scale: float
    lines: tuple[Line, ...]
    mixed: Parts
    """All that is mixed, and churned if it is."""
    later: Parts
    """What is folded in after the churn."""
    reductions: tuple[Reduction, ...]
    missing: tuple[Missing, ...]
    """Of the recipe and its components."""
    unpriced: tuple[str, ...]
    """Ingredients without a price: the cost is without them."""

    @property
    def weighed(self) -> bool:
        """Whether every line of its own has a weight; if not, no share of anything can be told."""
        return bool(self.lines) and all(line.grams is not None for line in self.lines)

    @property
    def grams(self) -> float:
        """Of all of it."""
        return weight_g(self.mixed) + weight_g(self.later)

    @property
    def all(self) -> Parts:
        """Mix and what is folded in."""
        return self.mixed + self.later

    @property
    def unknown_share(self) -> float:
        """Of the mix, that no table tells the make of."""
        weight = weight_g(self.mixed)
        return float(self.mixed[UNKNOWN]) / weight if weight > 0 else 0.0

    @property
    def cost(self) -> float:
        """Of all that has a price, in the kitchen's money."""
        return sum(line.cost or 0.0 for line in self.lines)


def composition(recipe: Recipe, book: Book, scale: float = 1.0) -> Composition:
    """What a recipe is made of.

    Args:
        recipe: Of the book or not: a trial will do.
        book: Ingredients and the recipes of components.
        scale: How many times the amounts written.

    Returns:
        Its parts; what is missing is listed, never taken as nothing.
    """
    return _Composer(book).of(recipe, scale)


class _Inside:
    """A component, with what is asked of it more than once."""

    def __init__(self, made: Composition) -> None:
        self.made = made
        self.weighed = made.weighed
        self.grams = made.grams
        self.known = self.weighed and self.grams > 0.0
        self.per_gram = made.all / self.grams if self.known else unknown_row()
        self.cost_per_gram = made.cost / self.grams if self.known else None


class _Composer:
    """Remembers components, so that each is worked out once."""

    def __init__(self, book: Book) -> None:
        self._book = book
        self._done: dict[RecipeId, _Inside] = {}
        self._open: list[RecipeId] = []

    def of(self, recipe: Recipe, scale: float = 1.0) -> Composition:
        """See `composition`."""
        self._open.append(recipe.id)
        lines: list[Line] = []
        missing: list[Missing] = []
        unpriced: list[str] = []
        reductions: list[Reduction] = []
        churned = False
        for step in recipe.steps:
            for take in step.takes:
                line, lacks, free = self._line(recipe, step, take, scale, churned)
                lines.append(line)
                missing.extend(lacks)
                unpriced.extend(free)
            for leave in step.leaves:
                missing.extend(self._without(recipe, step, leave, lines, scale))
            to, lack = _reduced_to(recipe, step, lines, scale)
            if lack is not None:
                missing.append(Missing(recipe.id, step.title, None, lack, None))
            if to is not None:
                lines, reduction = _reduce(step, lines, to)
                reductions.append(reduction)
            churned = churned or step.process is Process.CHURN
        self._open.pop()
        mixed, later = _sum(lines, later=False), _sum(lines, later=True)
        if mixed[WATER] + mixed[UNKNOWN] < -1e-6:
            missing.append(Missing(recipe.id, recipe.name, None, Lack.TOO_MUCH_WATER, None))
        once = tuple(dict.fromkeys(missing)), tuple(dict.fromkeys(unpriced))
        return Composition(recipe, scale, tuple(lines), mixed, later, tuple(reductions), *once)

    def _line(
        self, recipe: Recipe, step: Step, take: Take, scale: float, later: bool
    ) -> tuple[Line, list[Missing], list[str]]:
        amount = take.amount.times(scale) if scale != 1.0 else take.amount
        if take.component is not None:
            return self._component(recipe, step, take.component, amount, later)
        assert take.ingredient is not None  # the model sees to it
        found = self._book.ingredient(take.ingredient)
        grams = grams_of(amount, found)
        lacks = []
        if found is None:
            lacks.append(Missing(recipe.id, take.ingredient, amount, Lack.ROW, grams))
        if grams is None:
            lacks.append(Missing(recipe.id, take.ingredient, amount, _LACKS.get(amount.unit, Lack.DENSITY), None))
        per_gram = unknown_row() if found is None else self._book.rows[found.id]
        price = found.cost_per_kg if found is not None else None
        cost = None if price is None or grams is None else price * grams / 1000.0
        line = Line(step.id, take.ingredient, None, amount, grams, per_gram, cost, later)
        return line, lacks, [take.ingredient] if cost is None else []

    def _without(self, recipe: Recipe, step: Step, leave: Leave, lines: list[Line], scale: float) -> list[Missing]:
        """Take what a step leaves over off the line that it is a part of.

        Where the table trims that ingredient, its usable weight is without what is left already.
        """
        place = next((i for i, one in enumerate(lines) if (one.step, one.name) == (step.id, leave.of)), None)
        found = self._book.ingredient(leave.ingredient)
        whole = self._book.ingredient(leave.of) if leave.of is not None else None
        if place is None or whole is None or whole.usable < 1.0:
            return []
        line, amount = lines[place], leave.amount.times(scale)
        grams = grams_of(amount, found)
        if found is None or grams is None or not line.grams:
            return [Missing(recipe.id, leave.ingredient, amount, Lack.ROW if found is None else Lack.DENSITY, grams)]
        lines[place] = replace(line, per_gram=line.per_gram - self._book.rows[found.id] * (grams / line.grams))
        return []

    def _component(
        self, recipe: Recipe, step: Step, component: RecipeId, amount: Quantity, later: bool
    ) -> tuple[Line, list[Missing], list[str]]:
        made, named = self._book.recipes.get(component), str(component)
        if made is None or component in self._open:
            lack = Lack.COMPONENT if made is None else Lack.LOOP
            grams = grams_of(amount, None)
            line = Line(step.id, named, component, amount, grams, unknown_row(), None, later)
            return line, [Missing(recipe.id, named, amount, lack, grams)], [named]
        if component not in self._done:
            self._done[component] = _Inside(self.of(made))
        inside = self._done[component]
        grams, lacks = _grams_of_component(amount, inside), list(inside.made.missing)
        if grams is None or not inside.weighed:
            lacks.append(Missing(recipe.id, made.name, amount, Lack.INSIDE, grams))
        cost = None if grams is None or inside.cost_per_gram is None else inside.cost_per_gram * grams
        line = Line(step.id, made.name, component, amount, grams, inside.per_gram, cost, later)
        return line, lacks, list(inside.made.unpriced)


_LACKS = {Unit.EACH: Lack.PIECE, Unit.TRAY: Lack.UNIT}


def _grams_of_component(amount: Quantity, inside: _Inside) -> float | None:
    """By its weight; by the litre with the density that follows from its parts; by the piece as its recipe yields."""
    if amount.unit is Unit.KILOGRAM:
        return amount.value * 1000.0
    if not inside.known:
        return None
    if amount.unit is Unit.LITRE:
        density = density_kg_per_l(inside.per_gram)
        if density.high - density.low <= _DENSITY_SPREAD * density.high:
            return amount.value * 1000.0 * (density.low + density.high) / 2.0
    made = inside.made.recipe.yields
    return amount.value / made.value * inside.grams if amount.unit is made.unit and made.value > 0 else None


def _reduced_to(recipe: Recipe, step: Step, lines: list[Line], scale: float) -> tuple[float | None, Lack | None]:
    """To which share of its weight a step brings what is in the pot, and what is missing to say so."""
    if step.reduce_to is not None:
        return step.reduce_to, None
    if step.process is not Process.DEHYDRATE:
        return None, None
    before = weight_g(_sum(lines, later=False))
    if recipe.yields.unit is not Unit.KILOGRAM:
        return None, Lack.DRIED
    if any(line.grams is None for line in lines) or before <= 0.0:
        return None, None  # the line without a weight is told by itself
    to = recipe.yields.value * 1000.0 * scale / before
    return (to, None) if to < 1.0 else (None, None)


def _reduce(step: Step, lines: list[Line], to: float) -> tuple[list[Line], Reduction]:
    before = weight_g(_sum(lines, later=False))
    left = reduced([line.per_gram for line in lines], to)
    made = [
        Line(one.step, one.name, one.component, one.amount, one.grams, row, one.cost, one.later)
        for one, row in zip(lines, left, strict=True)
    ]
    return made, Reduction(step.id, before, (1.0 - to) * before)


def _sum(lines: list[Line], *, later: bool) -> Parts:
    """Of those lines that have a weight."""
    there = [line for line in lines if line.later is later and line.grams is not None]
    return blend([line.grams or 0.0 for line in there], [line.per_gram for line in there])


def walk(recipe: Recipe, book: Book, seen: frozenset[RecipeId] = frozenset()) -> Iterator[Recipe]:
    """A recipe and all that is in it, components first."""
    for step in recipe.steps:
        for take in step.takes:
            inside = book.recipes.get(take.component) if take.component is not None else None
            if inside is not None and inside.id not in seen:
                yield from walk(inside, book, seen | {recipe.id})
    yield recipe
