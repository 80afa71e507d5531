"""What is behind the door besides the kitchen: a service of which nothing is told but what a test says."""

from collections.abc import Callable

from orchestrator.gateway.vitals import Vitals
from orchestrator.kitchen.recipe_text import YamlRecipes
from orchestrator.ports.recipes import RecipeTexts
from orchestrator.ports.setting_up import KitchenFolder


class QuietService:
    """Implements the part of `Gateway` that is about the service itself."""

    def __init__(self) -> None:
        self.folder: KitchenFolder | None = None
        self.told = Vitals()
        self._callbacks: list[Callable[[], None]] = []

    def on_change(self, callback: Callable[[], None]) -> Callable[[], None]:
        """Call back after every change."""
        self._callbacks.append(callback)
        return lambda: self._callbacks.remove(callback)

    def vitals(self) -> Vitals:
        """As given."""
        return self.told

    def metrics(self) -> bytes:
        """Nothing was counted."""
        return b""

    @property
    def recipe_texts(self) -> RecipeTexts:
        """The kitchen room's own."""
        return YamlRecipes()

    @property
    def kitchen_folder(self) -> KitchenFolder | None:
        """As given."""
        return self.folder
