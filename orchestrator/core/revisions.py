"""A recipe's next revision: what is begun keeps the one it began with, everything else is made by the new one."""

from orchestrator.core.changes_refusals import bad, unknown
from orchestrator.core.errors import Refusal
from orchestrator.core.models import Kitchen, Recipe


def revised(kitchen: Kitchen, recipe: Recipe) -> Kitchen | Refusal:
    """The kitchen with another revision of a recipe that it has.

    Args:
        kitchen: It keeps the revision that is replaced among its `former` ones.
        recipe: With the number that follows the present one; name, steps, amounts and windows may differ. What its
            yield is counted in, its code and whether it is a product stay: lots, orders and pegs stand on them.

    Returns:
        The kitchen; or why not.
    """
    before = next((known for known in kitchen.recipes if known.id == recipe.id), None)
    if before is None:
        return unknown("recipe", recipe.id, (known.id for known in kitchen.recipes))
    if recipe.revision != before.revision + 1:
        status = f"revision {recipe.revision} follows on no present revision {before.revision}"
        return bad(recipe.id, status, f"revision {before.revision + 1}")
    fixed = (
        ("code", recipe.code, before.code),
        ("makes", recipe.makes, before.makes),
        ("unit of its yield", recipe.yields.unit, before.yields.unit),
    )
    for what, has, had in fixed:
        if has != had:
            return bad(recipe.id, f"its {what} would be {has}", f"{had}, as before; else write another recipe")
    recipes = tuple(recipe if known.id == recipe.id else known for known in kitchen.recipes)
    return kitchen.model_copy(update={"recipes": recipes, "former": (*kitchen.former, before)})
