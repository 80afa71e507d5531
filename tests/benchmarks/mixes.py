"""What a composition costs: a mix of thirty ingredients with components in it, against plain numpy in the same run.

Plain is one product of amounts with a table that somebody has flattened beforehand: no names, units, trim, water driven
off, prices or what is missing. Ours begins at the recipe as it is written, every time. Both take turns, in blocks.
"""

import statistics
import time
from collections.abc import Callable, Mapping
from functools import partial
from typing import Final

import numpy as np

from orchestrator.core.mix.book import Book, book
from orchestrator.core.mix.composition import composition
from orchestrator.core.mix.figures import FIGURES
from orchestrator.core.models import Recipe
from orchestrator.core.models.ingredient import Contents, Ingredient
from orchestrator.thermal.mix_freezing import freezing_range_c
from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.markdown import number, table

INGREDIENTS: Final = 30
COMPONENTS: Final = (0, 3, 6)
BLOCKS: Final = 15
IN_A_BLOCK: Final = 200


def measurements() -> tuple[Measurement, ...]:
    """Thirty ingredients, all in the recipe itself or parted among components, which are reduced."""
    return tuple(
        Measurement(f"{INGREDIENTS} ingredients, {count} components", 20.0, partial(_measured, count))
        for count in COMPONENTS
    )


def scene(components: int) -> tuple[Recipe, Book]:
    """A recipe of thirty ingredients: two in three stand in components, one inside the next by pairs."""
    ingredients = tuple(_ingredient(number) for number in range(INGREDIENTS))
    inside = 2 * INGREDIENTS // 3 if components else 0
    recipes: list[Recipe] = []
    for n in range(components):
        mine = [
            {"ingredient": one.name, "amount": f"{0.2 + 0.01 * n:.2f} kg"} for one in ingredients[n:inside:components]
        ]
        if n % 2:
            mine.append({"component": recipes[-1].id, "amount": "0.5 L"})
        recipes.append(_recipe(f"part-{n}", mine, reduce=n % 3 == 0))
    taken = {
        line["component"]
        for one in recipes
        for step in one.model_dump(mode="json")["steps"]
        for line in step["takes"]
        if line["component"]
    }
    own = [{"ingredient": one.name, "amount": "0.3 L"} for one in ingredients[inside:]]
    own += [{"component": one.id, "amount": "0.7 L"} for one in recipes if one.id not in taken]
    whole = _recipe("whole", own, reduce=False)
    return whole, book(ingredients, (*recipes, whole))


def _ingredient(number: int) -> Ingredient:
    water, fat, sugar = 20.0 + 2.0 * number, (30 - number) / 3.0, 5.0
    return Ingredient(
        id=f"i{number}",
        name=f"Ingredient {number}",
        per_100g=Contents(water=water, fat=fat, milk_fat=fat, sucrose=sugar, other_solids=100.0 - water - fat - sugar),
        density_g_per_ml=1.0 + 0.01 * number,
        usable=0.9 if number % 4 == 0 else 1.0,
        cost_per_kg=1.0 + number,
        source="of the bench",
    )


def _recipe(name: str, lines: list[dict[str, str]], *, reduce: bool) -> Recipe:
    minutes = {"shortest": 5, "usual": 10, "longest": 20}
    steps: list[dict[str, object]] = [
        {"id": "mix", "process": "mix", "title": "Mix", "duration": minutes, "takes": lines}
    ]
    if reduce:
        steps.append({"id": "reduce", "process": "reduce", "title": "Reduce", "duration": minutes, "reduce_to": 0.9})
    return Recipe.model_validate(
        {"id": name, "name": name, "code": "X", "makes": "component", "yields": "5 L",
         "batch": {"least": "5 L", "most": "5 L"}, "steps": steps}
    )  # fmt: skip


def _measured(components: int) -> Figures:
    recipe, listed = scene(components)
    made = composition(recipe, listed)
    assert made.weighed
    assert not made.missing
    leaves = np.array([line.per_gram for line in made.lines])
    flat = np.vstack([leaves, np.repeat(leaves[-1:], INGREDIENTS - len(leaves), axis=0)])
    grams = np.linspace(100.0, 900.0, INGREDIENTS)
    acts: dict[str, Callable[[], object]] = {
        "plain": lambda: grams @ flat,
        "composition": lambda: composition(recipe, listed),
        "with_figures": lambda: _all(recipe, listed),
    }
    found: dict[str, list[float]] = {name: [] for name in acts}
    for _ in range(BLOCKS):
        for name, act in acts.items():
            began = time.process_time()
            for _ in range(IN_A_BLOCK):
                act()
            found[name].append((time.process_time() - began) / IN_A_BLOCK * 1e6)
    return {f"{name}_us": round(statistics.median(values), 1) for name, values in found.items()} | {
        "components": components
    }


def _all(recipe: Recipe, listed: Book) -> None:
    made = composition(recipe, listed)
    for ratio in FIGURES.values():
        ratio.of(made.mixed)
    freezing_range_c(made.mixed)


def tables(found: Mapping[str, Figures]) -> str:
    """One line for each number of components."""
    kinds = ("plain_us", "composition_us", "with_figures_us")
    rows = [
        [f"{INGREDIENTS}, {row['components']}", *(number(row[kind]) for kind in kinds)]
        for row in sorted(found.values(), key=lambda row: row["components"])
    ]
    head = ["ingredients, components", "plain numpy µs", "composition µs", "with figures and freezing point µs"]
    return (
        "## Composition of a mix\n\nMicroseconds of the processor, middle of blocks that take turns in the same run. "
        "Plain is one product with a table flattened beforehand; ours begins at the recipe as written.\n\n"
        f"{table(head, rows)}"
    )
