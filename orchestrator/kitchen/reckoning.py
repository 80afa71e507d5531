"""Usual minutes that a recipe has worked out from its mix, as the files are read."""

from orchestrator.core.models import Kitchen
from orchestrator.core.worked_out import NOT_RECKONED, RECKON_REMEDY
from orchestrator.kitchen.draft import Draft


def with_reckoned_minutes(kitchen: Kitchen, draft: Draft) -> Kitchen:
    """The kitchen with the minutes of every step that asks for it; one that cannot be told is a fault of its file."""
    if not any(step.reckon is not None for recipe in kitchen.recipes for step in recipe.steps):
        return kitchen
    # Imported late: numpy, which a kitchen that asks for nothing need not wait for.
    from orchestrator.core.mix.book import book_of
    from orchestrator.core.mix.work import reckoned_min, with_reckoned

    book = book_of(kitchen)
    for entry in draft.recipes:
        for index, step in entry.steps.items():
            recipe = next((one for one in kitchen.recipes if one.id == entry.id), None)
            if step.reckon is None or recipe is None:
                continue
            if reckoned_min(recipe, recipe.steps[index], kitchen, book) is None:
                entry.add(("steps", index, "reckon"), NOT_RECKONED, RECKON_REMEDY)
    recipes = tuple(with_reckoned(recipe, kitchen, book) for recipe in kitchen.recipes)
    return kitchen.model_copy(update={"recipes": recipes})
