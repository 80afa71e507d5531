"""Recipes as the text of a kitchen's own files."""

from collections.abc import Mapping
from typing import Any, Protocol

from orchestrator.core.ids import RecipeId
from orchestrator.core.models import Kitchen, Recipe
from orchestrator.core.models.recipe_text import RecipeRead


class RecipeTexts(Protocol):
    """Reads and writes them; thread-safe, and nothing of the kitchen changes by it."""

    def read(self, text: str, kitchen: Kitchen, of: RecipeId | None) -> RecipeRead:
        """What a text says, checked as the kitchen's own files are.

        Args:
            text: YAML, as a file under ``recipes/``.
            kitchen: In which it would be made.
            of: The recipe of which it would be the next revision; none: a new one, whose id and code must be free.
        """

    def write(self, recipe: Recipe, kitchen: Kitchen) -> str:
        """A recipe as YAML; read again, it is the same."""

    def write_data(self, data: Mapping[str, Any]) -> str:
        """Plain data, right or wrong, as YAML."""
