"""What the kitchen gives a recipe, be it read from files or approved: targets by its limits, minutes by its mix."""

from collections.abc import Iterator
from typing import Final

from orchestrator.core.changes_refusals import bad
from orchestrator.core.errors import Refusal
from orchestrator.core.limits import with_aim
from orchestrator.core.models import Kitchen, Recipe
from orchestrator.core.models.change import AddRecipe, Change, ReviseRecipe
from orchestrator.core.models.recipe import UsualMinutes

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
    told: dict[str, object] = {} if recipe is change.recipe else {"recipe": recipe}
    if isinstance(change, ReviseRecipe) and (follow := tuple(_following(kitchen, recipe))):
        told["follow"] = follow
    return change.model_copy(update=told) if told else change


def _following(kitchen: Kitchen, revised: Recipe) -> Iterator[UsualMinutes]:
    """Usual minutes of other recipes that the revision of a component makes others, through components too."""
    others = [known for known in kitchen.recipes if known.id != revised.id and _reckons(known)]
    if not others:
        return
    recipes = tuple(revised if known.id == revised.id else known for known in kitchen.recipes)
    after = kitchen.model_copy(update={"recipes": recipes})
    for known in others:
        for old, new in zip(known.steps, worked_out(known, after).steps, strict=True):
            if new.duration is not None and new.duration != old.duration:
                yield UsualMinutes(recipe=known.id, step=new.id, usual=new.duration.usual)


def _reckons(recipe: Recipe) -> bool:
    return any(step.reckon is not None for step in recipe.steps)
