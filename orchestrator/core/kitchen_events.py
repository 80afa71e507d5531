"""What has been changed of the kitchen by hand. Appended, never changed, as all of `events`."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId
from orchestrator.core.models.base import Model
from orchestrator.core.models.change import Change
from orchestrator.core.models.ingredient import Ingredient


class KitchenChanged(Model):
    """A named person changed orders, people, machines or stock; in this order, each on what those before it left."""

    kind: Literal["kitchen_changed"] = "kitchen_changed"
    changes: tuple[Change, ...]
    at: AwareDatetime
    person: CrewId
    reason: str = ""


class IngredientsTaken(Model):
    """From now on mixes are worked out with these rows and prices: the kitchen's file has changed."""

    kind: Literal["ingredients_taken"] = "ingredients_taken"
    ingredients: tuple[Ingredient, ...]
    currency: str = ""
    at: AwareDatetime
