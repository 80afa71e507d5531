"""A recipe as text, read: the recipe, or everything that is wrong with it, place by place."""

from typing import Any

from orchestrator.core.models.base import Model
from orchestrator.core.models.recipe import Recipe


class RecipeFault(Model):
    """One thing that is wrong with it."""

    line: int
    """From 1; 0 when it concerns the whole, or another recipe that takes it."""
    column: int
    where: tuple[str | int, ...] = ()
    """Keys and positions from the top, as in ``("steps", 2, "duration")``."""
    what: str
    remedy: str


class RecipeRead(Model):
    """What was read."""

    recipe: Recipe | None
    """None as long as there are faults."""
    data: dict[str, Any]
    """What stands in the text as plain data, right or wrong; empty if it is no YAML."""
    faults: tuple[RecipeFault, ...] = ()
