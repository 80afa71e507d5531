"""What a page of a recipe is asked for: a size, measures, whether components are opened."""

from dataclasses import dataclass
from typing import Final

from display.forms import FormFault, Tapped
from display.panels import Showing
from display.recipe_amounts import UNITS, Measures
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import EquipmentId
from orchestrator.core.models import Recipe
from orchestrator.core.quantities import Quantity
from orchestrator.core.recipe_scaling import by_ingredient, by_load, by_yield

WAYS: Final = ("yield", "ingredient", "load")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What stands in the page's address."""

    factor: float = 1.0
    way: str = ""
    """One of `WAYS`; empty: as written."""
    measures: Measures = "metric"
    opened: bool = False
    says: str = ""
    """Why it is not scaled, and what would be accepted."""
    remedy: str = ""


def wanted(form: Tapped, picture: Showing, recipe: Recipe) -> Wanted:
    """From the page's address; what cannot be understood is said, and the recipe is shown as written."""
    measures: Measures = "us" if (form.text("measures") or picture.reader.amounts) == "us" else "metric"
    opened, way = form.yes("opened"), form.text("by")
    if way not in WAYS:
        return Wanted(measures=measures, opened=opened)
    try:
        factor = _factor(form, picture, recipe, way)
    except FormFault as fault:
        return Wanted(1.0, way, measures, opened, fault.says, fault.remedy)
    if isinstance(factor, Refusal):
        says, remedy = picture.sentences.refusal(factor, factor.thing)
        return Wanted(1.0, way, measures, opened, says, remedy)
    return Wanted(factor, way, measures, opened)


def _factor(form: Tapped, picture: Showing, recipe: Recipe, way: str) -> float | Refusal:
    if way == "load":
        return by_load(picture.kitchen, recipe, EquipmentId(form.need("machine")))
    if way == "yield":
        wanted = form.amount("amount", recipe.yields.unit, least=0.0001, most=1_000_000)
        return by_yield(recipe, Quantity(value=wanted, unit=recipe.yields.unit))
    amount = form.number("amount", 0.0001, 1_000_000, example="3.2")
    unit, trimmed = form.choice("unit", UNITS), form.yes("trimmed")
    return by_ingredient(picture.kitchen, recipe, form.need("ingredient"), amount, unit, trimmed=trimmed)
