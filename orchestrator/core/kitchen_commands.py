"""What people may change of the kitchen by hand."""

from typing import Literal

from pydantic import Field

from orchestrator.core.command_base import BaseCommand
from orchestrator.core.models.base import Model
from orchestrator.core.models.change import Change
from orchestrator.core.models.ingredient import Ingredient


class Basis(Model):
    """On what a preview was based: a plan, and how often the kitchen had been changed by hand."""

    revision: int
    changes: int


class ChangeKitchen(BaseCommand):
    """Orders, people, machines or stock become others, lastingly; carried out in order, all or none."""

    kind: Literal["change_kitchen"] = "change_kitchen"
    changes: tuple[Change, ...] = Field(min_length=1, max_length=300)
    reason: str = Field(default="", max_length=500)
    based_on: Basis | None = None
    """What was shown before somebody said yes: refused if the plan or the kitchen have become others since."""


class TakeIngredients(BaseCommand):
    """The kitchen's file has other rows or prices than before."""

    kind: Literal["take_ingredients"] = "take_ingredients"
    ingredients: tuple[Ingredient, ...]
    currency: str = ""
    """Of the prices, by three letters (ISO 4217); empty where the file does not say."""
