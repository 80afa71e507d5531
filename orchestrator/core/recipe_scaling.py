"""Recipes made larger or smaller, and what must be weighed for them. Nothing of the kitchen changes by it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from orchestrator.core.changes_refusals import bad, unknown
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import EquipmentId, RecipeId
from orchestrator.core.measures import WEIGHTS, NoDensity, converted
from orchestrator.core.models import Equipment, Kitchen, Recipe, Step, Take
from orchestrator.core.models.ingredient import Ingredient, as_compared
from orchestrator.core.models.recipe import Leave
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.recipe_uses import ingredient_rows

LEAST_FACTOR: Final = 0.001
MOST_FACTOR: Final = 1000.0


@dataclass(frozen=True, slots=True)
class Need:
    """So much of one ingredient, or of one component, for a recipe at some size."""

    name: str
    component: RecipeId | None
    quantity: Quantity
    """As the recipes write it."""
    weight_kg: float | None
    """What must be weighed out, trim included; weights rule wherever they can be told."""
    usable_kg: float | None
    """What of it is left after trimming."""
    row: Ingredient | None
    """Of the ingredient table."""

    @property
    def is_trimmed(self) -> bool:
        """Whether something of what is weighed is thrown away."""
        return self.row is not None and self.row.usable < 1.0


def stays_behind(recipe: Recipe) -> float:
    """What stays in machines of one run, in the unit of the recipe's yield."""
    return sum(step.loss.value for step in recipe.steps if step.loss is not None and step.per == "batch")


def comes_out(recipe: Recipe, factor: float = 1.0) -> Quantity:
    """What one run yields after what stays in machines, which does not grow with it."""
    return Quantity(value=recipe.yields.value * factor - stays_behind(recipe), unit=recipe.yields.unit)


def by_yield(recipe: Recipe, wanted: Quantity) -> float | Refusal:
    """By what the amounts are multiplied so that so much comes out of one run, losses taken off."""
    if wanted.unit is not recipe.yields.unit:
        return bad(recipe.name, f"its yield is counted in {recipe.yields.unit}", f"an amount in {recipe.yields.unit}")
    return _sensible(recipe.name, (wanted.value + stays_behind(recipe)) / recipe.yields.value)


def by_ingredient(
    kitchen: Kitchen, recipe: Recipe, name: str, have: float, unit: str, *, trimmed: bool
) -> float | Refusal:
    """By what the amounts are multiplied to use up what there is of one ingredient, components included.

    Args:
        kitchen: Whose components and ingredient table are used.
        recipe: What is made.
        name: The ingredient, as the steps call it, or the id of a component.
        have: How much there is.
        unit: A unit of `measures`, or ``each`` or ``trays``.
        trimmed: Whether that is what is left after trimming; otherwise it is as bought.
    """
    direct = tuple(need for need in needs(kitchen, recipe, 1.0) if need.component == name)
    expanded = not direct
    once, twice = (_needed(kitchen, recipe, factor, name, expanded=expanded) for factor in (1.0, 2.0))
    if not once:
        names = sorted({need.name for need in needs(kitchen, recipe, 1.0, expanded=True)})
        return unknown(f"ingredient of {recipe.name}", name, names)
    have_in = _in_unit_of(once, have, unit, trimmed=trimmed)
    if isinstance(have_in, Refusal):
        return have_in
    first, second = (_told(many, have_in[1]) for many in (once, twice))
    if first is None or second is None:
        return _no_weight(once[0], "the recipe writes it in other measures")
    # What stays in the machines of components does not grow: the need is a straight line, not through nothing.
    each = second - first
    return _sensible(name, (have_in[0] - (first - each)) / each)


def by_load(kitchen: Kitchen, recipe: Recipe, machine: EquipmentId) -> float | Refusal:
    """By what the amounts are multiplied so that a machine is filled in its fullest step."""
    found = next((one for one in kitchen.equipment if one.id == machine), None)
    if found is None:
        return unknown("machine", machine, (one.id for one in loadable(kitchen, recipe)))
    loads = [step.load for step in recipe.steps if step.equipment == found.kind and step.load is not None]
    if found.capacity is None or not loads:
        names = ", ".join(one.name for one in loadable(kitchen, recipe)) or "none of this recipe"
        return bad(found.name, "nothing says how much of this recipe it takes", f"a machine that has a load: {names}")
    capacity = found.capacity
    if any(load.unit is not capacity.unit for load in loads):
        return bad(found.name, f"its capacity is counted in {capacity.unit}", "write the load of the step in the same")
    return _sensible(found.name, capacity.value / max(load.value for load in loads))


def loadable(kitchen: Kitchen, recipe: Recipe) -> tuple[Equipment, ...]:
    """Machines that a recipe can be scaled to: those with a capacity that a step says its load of; stores last."""
    kinds = {step.equipment for step in recipe.steps if step.load is not None and step.load.value > 0}
    found = [one for one in kitchen.equipment if one.kind in kinds and one.capacity is not None]
    return tuple(sorted(found, key=lambda one: one.store))


@dataclass(frozen=True, slots=True)
class TooMuch:
    """Where a scaled recipe does not fit; ``machine`` none: the recipe's own least or most."""

    step: Step | None
    machine: Equipment | None
    wanted: Quantity
    bound: Quantity
    is_most: bool


def does_not_fit(kitchen: Kitchen, recipe: Recipe, factor: float) -> tuple[TooMuch, ...]:
    """The recipe's own bounds of a batch, and machines of which the largest is too small or the smallest too large."""
    out, found = comes_out(recipe, factor), []
    if out.value > recipe.batch.most.value + 1e-9:
        found.append(TooMuch(None, None, out, recipe.batch.most, True))
    if out.value < recipe.batch.least.value - 1e-9:
        found.append(TooMuch(None, None, out, recipe.batch.least, False))
    for step in recipe.steps:
        if step.load is not None and step.per == "batch":
            found += list(_beyond(kitchen, step, step.load.times(factor)))
    return tuple(found)


def _beyond(kitchen: Kitchen, step: Step, load: Quantity) -> Iterator[TooMuch]:
    fit = [one for one in kitchen.equipment if one.kind == step.equipment and one.capacity is not None]
    most = max(fit, key=lambda one: one.capacity.value if one.capacity else 0.0, default=None)
    if most is not None and most.capacity is not None and load.value > most.capacity.value + 1e-9:
        yield TooMuch(step, most, load, most.capacity, True)
    least = min((one for one in fit if one.least), key=lambda one: one.least.value if one.least else 0.0, default=None)
    if least is not None and least.least is not None and load.value < least.least.value - 1e-9:
        yield TooMuch(step, least, load, least.least, False)


def scaled(recipe: Recipe, factor: float) -> Recipe:
    """The recipe with all that is taken, loaded and yielded so many times as much; what stays in machines does not
    grow, nor do minutes."""
    steps = tuple(
        step.model_copy(
            update={
                "takes": tuple(t.model_copy(update={"amount": t.amount.times(factor)}) for t in step.takes),
                "leaves": tuple(_left(leave, factor) for leave in step.leaves),
                "load": step.load.times(factor) if step.load is not None else None,
            }
        )
        for step in recipe.steps
    )
    return recipe.model_copy(update={"steps": steps, "yields": recipe.yields.times(factor)})


def _left(leave: Leave, factor: float) -> Leave:
    room = leave.room.times(factor) if leave.room is not None else None
    return leave.model_copy(update={"amount": leave.amount.times(factor), "room": room})


def needs(kitchen: Kitchen, recipe: Recipe, factor: float, *, expanded: bool = False) -> tuple[Need, ...]:
    """What must be weighed for one run of that size.

    Args:
        kitchen: Whose components and ingredient table are used.
        recipe: What is made.
        factor: How many times its written amounts.
        expanded: Whether components are opened, down to what is weighed in all; each is then made in one run, with
            what stays in its machines on top.

    Returns:
        Each ingredient once for each unit that it is written in, in the order of the steps.
    """
    known = {one.id: one for one in kitchen.recipes}
    sums: dict[tuple[str, RecipeId | None, Unit], tuple[str, float]] = {}
    for take, times in _lines(known, recipe, factor, expanded=expanded, above=frozenset((recipe.id,))):
        name = take.ingredient or (known[take.component].name if take.component in known else str(take.component))
        key = (as_compared(name), take.component, take.amount.unit)
        sums[key] = (sums[key][0] if key in sums else name, sums.get(key, ("", 0.0))[1] + take.amount.value * times)
    rows = ingredient_rows(kitchen)
    return tuple(
        need_of(rows, name, component, Quantity(value=value, unit=unit))
        for (_, component, unit), (name, value) in sums.items()
    )


def need_of(rows: Mapping[str, Ingredient], name: str, component: RecipeId | None, quantity: Quantity) -> Need:
    """One line, with its weight where that can be told; see `recipe_uses.ingredient_rows`."""
    row = rows.get(as_compared(name)) if component is None else None
    weight = weight_kg(quantity, row)
    usable = weight * (row.usable if row is not None else 1.0) if weight is not None and component is None else None
    return Need(name, component, quantity, weight, usable, row)


def weight_kg(quantity: Quantity, row: Ingredient | None) -> float | None:
    """What an amount weighs; none where no density, or no weight of one piece, is known."""
    if quantity.unit is Unit.KILOGRAM:
        return quantity.value
    if quantity.unit is Unit.LITRE and row is not None and row.density_g_per_ml is not None:
        return converted(quantity.value, "L", "kg", row.density_g_per_ml)
    if quantity.unit is Unit.EACH and row is not None and row.each_g is not None:
        return quantity.value * row.each_g / 1000.0
    return None


def _lines(
    known: Mapping[RecipeId, Recipe], recipe: Recipe, factor: float, *, expanded: bool, above: frozenset[RecipeId]
) -> Iterator[tuple[Take, float]]:
    for step in recipe.steps:
        for take in step.takes:
            part = known.get(take.component) if take.component is not None and expanded else None
            if part is None or part.id in above:
                yield take, factor
                continue
            times = (take.amount.value * factor + stays_behind(part)) / part.yields.value
            yield from _lines(known, part, times, expanded=True, above=above | {part.id})


def _needed(kitchen: Kitchen, recipe: Recipe, factor: float, name: str, *, expanded: bool) -> tuple[Need, ...]:
    wanted = as_compared(name)
    row = ingredient_rows(kitchen).get(wanted)
    names = {wanted, *(row.names if row is not None else ())}
    return tuple(
        need
        for need in needs(kitchen, recipe, factor, expanded=expanded)
        if (need.component == name if not expanded else need.component is None and as_compared(need.name) in names)
    )


def _in_unit_of(many: tuple[Need, ...], have: float, unit: str, *, trimmed: bool) -> tuple[float, str] | Refusal:
    """What there is, as bought, in a unit in which the need can be told, and that unit."""
    need = many[0]
    if trimmed and need.row is None:
        return bad(need.name, "the ingredient table has no trim of it", "weigh it before it is trimmed")
    bought = have / need.row.usable if trimmed and need.row is not None else have
    if unit in (Unit.EACH, Unit.TRAY):
        same = all(one.quantity.unit == unit for one in many)
        return (bought, unit) if same else _no_weight(need, f"the recipe does not count it in {unit}")
    same_kind = all(one.quantity.unit is (Unit.KILOGRAM if unit in WEIGHTS else Unit.LITRE) for one in many)
    into = ("kg" if unit in WEIGHTS else "L") if same_kind else "kg"
    try:
        density = need.row.density_g_per_ml if need.row is not None else None
        return converted(bought, unit, into, density), into
    except NoDensity as refused:
        return _no_weight(need, str(refused))
    except ValueError as refused:
        return bad(need.name, str(refused), "another unit")


def _told(many: tuple[Need, ...], unit: str) -> float | None:
    """The sum in a unit; none where a line cannot be told in it."""
    found = [
        one.weight_kg if unit == "kg" else one.quantity.value if one.quantity.unit == unit else None for one in many
    ]
    told = [value for value in found if value is not None]
    return sum(told) if len(told) == len(found) else None


def _no_weight(need: Need, status: str) -> Refusal:
    return bad(need.name, status, "weigh it, or put its density or the weight of one piece into the ingredient table")


def _sensible(thing: str, factor: float) -> float | Refusal:
    if LEAST_FACTOR <= factor <= MOST_FACTOR:
        return factor
    if factor <= 0:
        return bad(thing, "that is no more than what stays in the machines", "a larger amount")
    return bad(
        thing, f"that is {factor:.4g} times the recipe", f"between {LEAST_FACTOR:g} and {MOST_FACTOR:g} times it"
    )
