"""What the kitchen gives a recipe, be it read from files or approved: targets by its limits, minutes by its mix."""

from typing import Final

from orchestrator.core.changes_refusals import bad
from orchestrator.core.errors import Refusal
from orchestrator.core.limits import with_aim
from orchestrator.core.models import Kitchen, Recipe
from orchestrator.core.models.change import AddRecipe, Change, ReviseRecipe

NOT_RECKONED: Final = "the usual minutes cannot be worked out from the mix"
RECKON_REMEDY: Final = (
    "give every ingredient and component of it a weight or a density, hardening a target and air colder than it; "
    "or take `reckon` out"
)


def worked_out(recipe: Recipe, kitchen: Kitchen) -> Recipe:
    """The recipe with the targets of its limits, and the usual minutes that its mix gives where a step asks for them.

    Args:
        recipe: As somebody wrote it.
        kitchen: Where it would be made: its limits, machines, ingredients and components.
    """
    limits = {str(limit.id): limit for limit in kitchen.limits}
    steps = tuple(with_aim(step, limits, kitchen.temperature_unit) for step in recipe.steps)
    aimed = recipe if steps == recipe.steps else recipe.model_copy(update={"steps": steps})
    if not _reckons(aimed):
        return aimed
    # Imported late: numpy, which a kitchen that asks for nothing need not wait for.
    from orchestrator.core.mix.book import book_of
    from orchestrator.core.mix.work import with_reckoned

    return with_reckoned(aimed, kitchen, book_of(kitchen))


def not_reckoned(recipe: Recipe, kitchen: Kitchen) -> Refusal | None:
    """Which step asks for minutes that its mix cannot give; none where all can be told."""
    if not _reckons(recipe):
        return None
    from orchestrator.core.mix.book import book_of
    from orchestrator.core.mix.work import reckoned_min

    book = book_of(kitchen)
    asking = (step for step in recipe.steps if step.reckon is not None)
    step = next((one for one in asking if reckoned_min(recipe, one, kitchen, book) is None), None)
    return None if step is None else bad(step.title, NOT_RECKONED, RECKON_REMEDY)


def change_worked_out(change: Change, kitchen: Kitchen) -> Change:
    """A change as it is put on record: a recipe that it brings says all that it will be made by."""
    if not isinstance(change, ReviseRecipe | AddRecipe):
        return change
    recipe = worked_out(change.recipe, kitchen)
    return change if recipe is change.recipe else change.model_copy(update={"recipe": recipe})


def _reckons(recipe: Recipe) -> bool:
    return any(step.reckon is not None for step in recipe.steps)
