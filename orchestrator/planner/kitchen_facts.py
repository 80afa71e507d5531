"""What of a kitchen is the same in one question after the other, worked out once: what recipes come to in it.

Found again by content, never by identity: a planner's process reads every question anew, so the same kitchen is another
object each time, and a kitchen with a recipe changed by a gram is another kitchen.
"""

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from orchestrator.core.ids import RecipeId
from orchestrator.core.models import Kitchen, TaskSpec
from orchestrator.planner.sizes import all_allergens, why_not

_KITCHENS = 2
"""The kitchen, and one in which somebody tries something."""
_MOST_KEPT = 1000
"""Batches and order lines of a kitchen whose tasks are kept: about 10 MB."""


@dataclass(frozen=True, slots=True)
class KitchenFacts:
    """Of recipes, machines, crew and stations."""

    blocked: Mapping[RecipeId, str]
    """Recipes that cannot be made at all, and why."""
    allergens: Mapping[RecipeId, frozenset[str]]
    """Of every recipe, all the way down."""
    _tasks: dict[Hashable, tuple[TaskSpec, ...]] = field(default_factory=dict)

    def tasks(self, key: Hashable, make: Callable[[], tuple[TaskSpec, ...]]) -> tuple[TaskSpec, ...]:
        """Tasks as they were made before of the same things.

        Args:
            key: All that they are made of, but for what these facts are of.
            make: Makes them.
        """
        found = self._tasks.get(key)
        if found is None:
            if len(self._tasks) >= _MOST_KEPT:
                self._tasks.clear()
            found = self._tasks[key] = make()
        return found


@dataclass(frozen=True, slots=True)
class _Asked:
    """A kitchen, and all of it that the facts hang on: equal where that is."""

    content: tuple[object, ...]
    kitchen: Kitchen = field(compare=False)


def facts_of(kitchen: Kitchen) -> KitchenFacts:
    """What recipes come to in a kitchen, worked out once for all kitchens that are the same in what that hangs on.

    Args:
        kitchen: Its orders, stock, supplies and shifts may differ.
    """
    skills = tuple(member.skills for member in kitchen.crew)
    content = kitchen.recipes, kitchen.former, kitchen.equipment, kitchen.stations, skills, kitchen.horizon_days
    return _facts(_Asked(content, kitchen))


@lru_cache(maxsize=_KITCHENS)
def _facts(asked: _Asked) -> KitchenFacts:
    kitchen = asked.kitchen
    blocked = {recipe.id: why for recipe in kitchen.recipes if (why := why_not(kitchen, recipe))}
    return KitchenFacts(blocked, all_allergens(kitchen))


def forget() -> None:
    """Work all of it out anew: for whoever compares."""
    _facts.cache_clear()
