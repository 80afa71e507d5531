"""A recipe's next revision in the kitchen."""

from orchestrator.core.errors import Refusal
from orchestrator.core.ids import RecipeId
from orchestrator.core.models import Kitchen, Recipe
from orchestrator.core.quantities import Quantity
from orchestrator.core.revisions import revised
from tests.fakes.tiny import tiny_kitchen


def churned(**changes: object) -> Recipe:
    return tiny_kitchen().recipes[1].model_copy(update={"revision": 2, **changes})


def test_revised_kitchen_knows_both_revisions_and_makes_by_the_new_one() -> None:
    kitchen = revised(tiny_kitchen(), churned(name="Basil custard, more basil"))
    assert isinstance(kitchen, Kitchen)
    name = RecipeId("basil-custard")
    told = [recipe.name if recipe else "" for recipe in (kitchen.made_by(name, n) for n in (None, 1, 2, 3))]
    assert told == ["Basil custard, more basil", "Basil custard", "Basil custard, more basil", ""]


def test_revised_out_of_turn_is_refused_with_the_number_that_would_do() -> None:
    told = revised(tiny_kitchen(), churned(revision=4))
    assert isinstance(told, Refusal)
    assert told.remedy == "revision 2"


def test_revised_what_lots_stand_on_stays() -> None:
    said = []
    for change in ({"code": "X"}, {"makes": "component"}, {"yields": Quantity.model_validate("4 kg")}):
        told = revised(tiny_kitchen(), churned(**change))
        assert isinstance(told, Refusal), change
        said.append((told.status, told.remedy.split(",")[0]))
    assert said == [
        ("its code would be X", "B"),
        ("its makes would be component", "product"),
        ("its unit of its yield would be kg", "L"),
    ]


def test_revised_unknown_recipe_is_refused_with_those_there_are() -> None:
    told = revised(tiny_kitchen(), churned(id="plum-sorbet"))
    assert isinstance(told, Refusal)
    assert "basil-custard" in told.remedy
