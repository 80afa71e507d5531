"""How large a batch may be: machine capacities, losses, least and most; and how a need is split into runs."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations_with_replacement

from orchestrator.core.ids import RecipeId
from orchestrator.core.models import Equipment, Kitchen, Recipe, Step
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.recipe_scaling import stays_behind

EPS = 1e-6
"""Below this an amount is nothing: amounts are kept exact and not rounded."""
_COUNTED = (Unit.EACH, Unit.TRAY)
_MOST_MIXED = 6
"""So many runs are tried in every mix of machines; beyond that all others fill the largest."""


@dataclass(frozen=True, slots=True)
class SizeRange:
    """Least and most output of one batch, in the unit of the recipe's yield."""

    least: float
    most: float
    spans: tuple[tuple[float, float], ...] = ()
    """Where not all between them will do, because no machine takes it: the spans that do, in order."""


def batch_steps(recipe: Recipe) -> tuple[Step, ...]:
    """Steps done once a batch."""
    return tuple(step for step in recipe.steps if step.per == "batch")


def order_steps(recipe: Recipe) -> tuple[Step, ...]:
    """Steps done once for each order line."""
    return tuple(step for step in recipe.steps if step.per == "order")


def terminal_stay(recipe: Recipe) -> Step | None:
    """The stay in which the finished batch waits for its consumers; none if it does not end in one."""
    steps = batch_steps(recipe)
    return steps[-1] if steps and steps[-1].stay is not None else None


def machines_of(kitchen: Kitchen, kind: str | None) -> tuple[Equipment, ...]:
    """All machines of a kind."""
    return tuple(machine for machine in kitchen.equipment if machine.kind == kind)


def scale_for(recipe: Recipe, size: float) -> float:
    """By what the recipe's amounts are multiplied so that ``size`` comes out after losses."""
    return (size + stays_behind(recipe)) / recipe.yields.value


def scaled_load(load: Quantity | None, factor: float) -> float:
    """A load at another size; trays and pieces are whole."""
    if load is None:
        return 0.0
    value = load.value * factor
    return float(math.ceil(value - EPS)) if load.unit in _COUNTED else value


def _scale_spans(kitchen: Kitchen, step: Step) -> list[tuple[float, float]]:
    """By what the amounts may be multiplied so that some machine takes the load."""
    anything = [(0.0, math.inf)]
    if step.load is None or step.load.value <= 0 or step.equipment is None:
        return anything
    found = []
    for machine in machines_of(kitchen, step.equipment):
        capacity = machine.capacity
        if capacity is None or capacity.unit is not step.load.unit:
            return anything
        held = math.floor(capacity.value) if capacity.unit in _COUNTED else capacity.value
        least = machine.least.value / step.load.value if machine.least and not machine.shared else 0.0
        found.append((least, held / step.load.value))
    return found


def _in_both(one: Iterable[tuple[float, float]], other: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """What lies in a span of each, as spans that neither overlap nor touch, in order."""
    parts = sorted((max(a, c), min(b, d)) for a, b in one for c, d in other if max(a, c) <= min(b, d) + EPS)
    found: list[tuple[float, float]] = []
    for low, high in parts:
        if found and low <= found[-1][1] + EPS:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found


def size_range(kitchen: Kitchen, recipe: Recipe) -> SizeRange:
    """Least and most output of one batch, by the recipe and by every machine it passes through."""
    lost, nominal = stays_behind(recipe), recipe.yields.value
    spans = [(recipe.batch.least.value, recipe.batch.most.value)]
    for step in batch_steps(recipe):
        spans = _in_both(spans, ((a * nominal - lost, b * nominal - lost) for a, b in _scale_spans(kitchen, step)))
    if recipe.yields.unit in _COUNTED:
        whole = ((math.ceil(a - EPS), math.floor(b + EPS)) for a, b in spans)
        spans = [(float(a), float(b)) for a, b in whole if a <= b]
    if not spans:
        return SizeRange(math.inf, 0.0)
    return SizeRange(spans[0][0], spans[-1][1], tuple(spans) if len(spans) > 1 else ())


def split(total: float, sizes: SizeRange, unit: Unit, more: int = 0) -> tuple[float, ...]:
    """As few runs as hold it, of the same size if machines take that, and none below the least.

    Args:
        total: What is needed, above 0.
        sizes: Least and most of one run; ``most`` above 0.
        unit: Pieces and trays come in whole numbers.
        more: So many runs more than it needs.

    Returns:
        The size of each run; together they are ``total`` or more.
    """
    runs = max(1, math.ceil(total / sizes.most - EPS)) + more
    if sizes.spans:
        return _apart(math.ceil(total - EPS) if unit in _COUNTED else total, runs, sizes.spans, unit)
    each = total / runs
    if unit in _COUNTED:
        whole = math.ceil(total - EPS)
        parts = [whole // runs + (1 if i < whole % runs else 0) for i in range(runs)]
        return tuple(float(max(part, sizes.least)) for part in parts)
    return tuple(min(max(each, sizes.least), sizes.most) for _ in range(runs))


def _apart(total: float, runs: int, spans: tuple[tuple[float, float], ...], unit: Unit) -> tuple[float, ...]:
    """So many runs, each in one of the spans: with the least left over, then those that differ least in size."""

    made = combinations_with_replacement(spans, min(runs, _MOST_MIXED))
    rest = (spans[-1],) * max(0, runs - _MOST_MIXED)
    enough = ((*rest, *chosen) for chosen in made if sum(b for _, b in (*rest, *chosen)) >= total - EPS)
    best = min((_filled(total, chosen, unit) for chosen in enough), key=lambda s: (round(sum(s), 6), max(s) - min(s)))
    return tuple(sorted(best, reverse=True))


def _filled(total: float, chosen: tuple[tuple[float, float], ...], unit: Unit) -> tuple[float, ...]:
    """Every run to the same level, as far as its span goes: together the total, or more where that is their least."""
    step = 1.0 if unit in _COUNTED else 0.0
    sizes = [low for low, _ in chosen]
    while (left := total - sum(sizes)) > EPS:
        room = [i for i, (_, high) in enumerate(chosen) if sizes[i] < high - EPS]
        level = min(sizes[i] for i in room)
        lowest = [i for i in room if sizes[i] <= level + EPS]
        above = min((sizes[i] for i in room if sizes[i] > level + EPS), default=math.inf)
        top = min(above, *(chosen[i][1] for i in lowest), level + max(left / len(lowest), step))
        for i in lowest if not step else lowest[:1]:
            sizes[i] = level + step if step else top
    return tuple(sizes)


def why_not(kitchen: Kitchen, recipe: Recipe) -> str:
    """Why a recipe cannot be made in this kitchen at all; empty if it can."""
    for step in recipe.steps:
        if step.equipment is not None and not machines_of(kitchen, step.equipment):
            return f"{recipe.name}: there is no {step.equipment} for '{step.title}'"
        if step.attended and sum(step.skill in member.skills for member in kitchen.crew) < step.hands:
            return f"{recipe.name}: not enough of the crew can do '{step.title}' (skill {step.skill})"
    sizes = size_range(kitchen, recipe)
    if sizes.most <= EPS or sizes.least > sizes.most + EPS:
        return f"{recipe.name}: no batch size fits both the recipe and the machines"
    return ""


def all_allergens(kitchen: Kitchen) -> dict[RecipeId, frozenset[str]]:
    """Allergens of every recipe: its own, its ingredients' and its components', all the way down."""
    recipes = {recipe.id: recipe for recipe in kitchen.recipes}
    known: dict[RecipeId, frozenset[str]] = {}

    def of(recipe: Recipe, path: tuple[RecipeId, ...]) -> frozenset[str]:
        if recipe.id in known:
            return known[recipe.id]
        found = set(recipe.allergens)
        for take in (take for step in recipe.steps for take in step.takes):
            found.update(take.allergens)
            below = recipes.get(take.component) if take.component is not None else None
            if below is not None and below.id not in path:
                found |= of(below, (*path, recipe.id))
        known[recipe.id] = frozenset(found)
        return known[recipe.id]

    return {recipe.id: of(recipe, ()) for recipe in kitchen.recipes}
