"""All recipes, and one recipe whole: steps, windows, where it goes, revisions; scaled and converted, never changed."""

import itertools
from collections.abc import Mapping
from urllib.parse import urlencode

from flask import Blueprint, Response, make_response, request

from display.forms import Tapped
from display.recipe_amounts import UNITS, Amounts
from display.recipe_scale import Wanted, wanted
from display.recipe_words import RecipeWords
from display.request import page, person_id, showing
from orchestrator.core.allergens import allergens_of
from orchestrator.core.ids import RecipeId
from orchestrator.core.models import Kitchen, Recipe
from orchestrator.core.recipe_differences import Difference, differences
from orchestrator.core.recipe_scaling import (
    comes_out,
    does_not_fit,
    loadable,
    need_of,
    needs,
    scaled,
    stays_behind,
)
from orchestrator.core.recipe_uses import ingredient_rows, parts_of, used_in

pages = Blueprint("recipes", __name__)


@pages.get("/recipes")
def recipes_page() -> str:
    """Products and components, each with its revision, yield and allergens."""
    kitchen = showing().kitchen
    known = {recipe.id: recipe for recipe in kitchen.recipes}
    rows = [
        (recipe, sorted(allergens_of(known, recipe)), len({use.recipe.id for use in used_in(kitchen, recipe.id)}))
        for recipe in sorted(kitchen.recipes, key=lambda one: one.name)
    ]
    return page("recipes.html", groups=[(kind, [r for r in rows if r[0].makes == kind]) for kind in _KINDS])


_KINDS = ("product", "component")


@pages.get("/recipes/<recipe>")
def recipe_page(recipe: str) -> str | tuple[str, int]:
    """One of them, as written or scaled; a former revision by ``?revision=``."""
    picture = showing()
    kitchen, form = picture.kitchen, Tapped(request.args, picture, person_id())
    shown = _of(kitchen, RecipeId(recipe), request.args.get("revision", ""))
    if shown is None:
        return not_found()
    asked = wanted(form, picture, shown)
    return page("recipe.html", **_context(kitchen, shown, asked), said=RecipeWords(picture), query=request.args)


@pages.get("/recipes/<recipe>.yaml")
def recipe_text(recipe: str) -> Response | tuple[str, int]:
    """As YAML, the same as a file of the kitchen's folder."""
    picture = showing()
    shown = _of(picture.kitchen, RecipeId(recipe), request.args.get("revision", ""))
    if shown is None:
        return not_found()
    response = make_response(picture.gateway.recipe_texts.write(shown, picture.kitchen))
    response.mimetype = "application/yaml"
    response.headers["Content-Disposition"] = f'attachment; filename="{shown.id}.yaml"'
    return response


def not_found() -> tuple[str, int]:
    """There is no such recipe, or no such revision of it."""
    w = showing().words
    return page("fault.html", title=w("recipe_gone"), remedy=w("recipe_gone_remedy")), 404


def _of(kitchen: Kitchen, recipe: RecipeId, revision: str) -> Recipe | None:
    return kitchen.made_by(recipe, int(revision) if revision.isdigit() and len(revision) < 10 else None)


def _contains(known: Mapping[RecipeId, Recipe], recipe: Recipe, step: int) -> tuple[str, ...]:
    """What is in the food at a step: all that went in up to it, in the recipe's order; after the last, all of it."""
    so_far = recipe.steps[: step + 1]
    return tuple(sorted(allergens_of(known, recipe.model_copy(update={"steps": so_far}))))


def _context(kitchen: Kitchen, recipe: Recipe, asked: Wanted) -> dict[str, object]:
    known = {one.id: one for one in kitchen.recipes}
    inherited = allergens_of(known, recipe)
    own = set(recipe.allergens) | {word for step in recipe.steps for t in step.takes for word in t.allergens}
    at_size = scaled(recipe, asked.factor)
    rows = ingredient_rows(kitchen)
    names = {one.id: one.name for one in kitchen.recipes}
    present = kitchen.made_by(recipe.id, None)
    return {
        "recipe": recipe,
        "present": present,
        "asked": asked,
        "amounts": Amounts(showing().formats, asked.measures),
        "steps": [
            (
                step,
                [
                    need_of(rows, t.ingredient or names.get(t.component or RecipeId(""), ""), t.component, t.amount)
                    for t in step.takes
                ],
                _contains(known, recipe, number),
            )
            for number, step in enumerate(at_size.steps)
        ],
        "needs": needs(kitchen, recipe, asked.factor, expanded=asked.opened),
        "comes_out": comes_out(recipe, asked.factor),
        "stays": stays_behind(recipe),
        "too_much": does_not_fit(kitchen, recipe, asked.factor),
        "own": sorted(own),
        "inherited": sorted(inherited - own),
        "uses": used_in(kitchen, recipe.id),
        "parts": parts_of(kitchen, recipe),
        "loadable": loadable(kitchen, recipe),
        "units": UNITS,
        "revisions": _revisions(kitchen, recipe),
        "by": _addresses(recipe, asked),
        "choices": needs(kitchen, recipe, 1.0, expanded=True),
    }


def _revisions(kitchen: Kitchen, recipe: Recipe) -> list[tuple[Recipe, tuple[Difference, ...]]]:
    """All revisions, the newest first, each with what differs from the one before it."""
    known = sorted(
        (one for one in (*kitchen.recipes, *kitchen.former) if one.id == recipe.id), key=lambda one: one.revision
    )
    told = [(after, differences(before, after)) for before, after in itertools.pairwise(known)]
    return [*reversed(told), (known[0], ())] if known else []


def _addresses(recipe: Recipe, asked: Wanted) -> dict[str, str]:
    """The same page otherwise: in other measures, opened or not."""
    told = {key: value for key, value in request.args.items() if key not in ("measures", "opened")}
    opened = {"opened": "yes"} if asked.opened else {}
    other = {} if asked.opened else {"opened": "yes"}
    kept = {"measures": asked.measures}
    path = f"/recipes/{recipe.id}?"
    return {
        "metric": path + urlencode({**told, **opened, "measures": "metric"}) + "#weigh",
        "us": path + urlencode({**told, **opened, "measures": "us"}) + "#weigh",
        "opened": path + urlencode({**told, **kept, **other}) + "#weigh",
    }
