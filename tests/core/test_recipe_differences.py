"""What differs between two revisions of a recipe."""

from orchestrator.core.models import Recipe
from orchestrator.core.quantities import Quantity
from orchestrator.core.recipe_differences import Difference, differences
from tests.fakes.kitchens import small_kitchen


def sorbet() -> Recipe:
    return next(one for one in small_kitchen().recipes if any(step.takes for step in one.steps))


def with_first_amount(recipe: Recipe, amount: str) -> Recipe:
    index = next(i for i, step in enumerate(recipe.steps) if step.takes)
    step = recipe.steps[index]
    take = step.takes[0].model_copy(update={"amount": Quantity.model_validate(amount)})
    changed = step.model_copy(update={"takes": (take, *step.takes[1:])})
    return recipe.model_copy(update={"steps": (*recipe.steps[:index], changed, *recipe.steps[index + 1 :])})


def test_the_same_recipe_does_not_differ_but_for_its_number() -> None:
    assert differences(sorbet(), sorbet().model_copy(update={"revision": 2})) == ()


def test_another_amount_is_told_with_step_and_name() -> None:
    before = sorbet()
    step = next(step for step in before.steps if step.takes)
    name = step.takes[0].ingredient or str(step.takes[0].component)
    told = differences(before, with_first_amount(before, f"7 {step.takes[0].amount.unit}"))
    seven = Quantity(value=7, unit=step.takes[0].amount.unit)
    assert told == (Difference(step.title, ("takes", name, "amount"), step.takes[0].amount, seven),)


def test_a_step_taken_out_and_one_put_in_are_told_whole() -> None:
    before = sorbet()
    other = before.steps[0].model_copy(update={"id": "rest", "title": "Rest it"})
    after = before.model_copy(update={"steps": (*before.steps[1:], other)})
    assert differences(before, after) == (
        Difference(before.steps[0].title, ("step",), before.steps[0].title, None),
        Difference("Rest it", ("step",), None, "Rest it"),
    )


def test_steps_in_another_order_are_told() -> None:
    before = sorbet()
    after = before.model_copy(update={"steps": (before.steps[1], before.steps[0], *before.steps[2:])})
    assert [one.what for one in differences(before, after)] == [("order",)]
