"""A recipe that is approved by hand is given what one read from files is: targets by its limits, minutes by its mix."""

from functools import cache
from pathlib import Path
from typing import Any

import pytest

from orchestrator.core.commands import COMMANDS
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.kitchen_events import KitchenChanged
from orchestrator.core.models import Duration, Kitchen, Recipe
from orchestrator.core.models.change import ReviseRecipe
from orchestrator.core.models.recipe import Reckon
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.state import State
from orchestrator.core.worked_out import worked_out
from orchestrator.gateway.door import Accepted
from orchestrator.kitchen.read import read_kitchen
from tests.fakes.kitchen_gateway import KitchenGateway

EXAMPLE = Path(__file__).parents[2] / "config"


@cache
def kitchen() -> Kitchen:
    return read_kitchen(EXAMPLE)


def house() -> KitchenGateway:
    return KitchenGateway(State(kitchen=kitchen()), kitchen().planning_start)


def named(gateway: KitchenGateway, name: str) -> Recipe:
    assert gateway.state.kitchen is not None
    return next(one for one in gateway.state.kitchen.recipes if one.id == name)


def with_step(recipe: Recipe, step: str, **update: Any) -> Recipe:
    steps = tuple(one.model_copy(update=update) if one.id == step else one for one in recipe.steps)
    return recipe.model_copy(update={"steps": steps, "revision": recipe.revision + 1})


def give(gateway: KitchenGateway, **change: Any) -> Accepted | Refusal:
    told = {"kind": "change_kitchen", "command_id": f"c{gateway.state.seq}", "person": "manager", "reason": "tasted"}
    return gateway.submit(COMMANDS.validate_python({**told, "changes": [change]}))


def usual(recipe: Recipe, step: str) -> int:
    duration = next(one for one in recipe.steps if one.id == step).duration
    assert isinstance(duration, Duration)
    return duration.usual


def test_revision_is_approved_with_the_minutes_that_its_mix_gives_and_says_them_on_record() -> None:
    gateway = house()
    asked = with_step(named(gateway, "damson-puree"), "reduce", reckon=Reckon(drives_off_kg_per_h=2.0))
    assert usual(asked, "reduce") != 34
    assert isinstance(give(gateway, change="revise recipe", recipe=asked), Accepted)
    # 1.128 kg of water at 2 kg/h, as for a recipe read from files (test_mix_work).
    assert usual(named(gateway, "damson-puree"), "reduce") == 34
    event = next(r.event for r in gateway.records if isinstance(r.event, KitchenChanged))
    (change,) = event.changes
    assert isinstance(change, ReviseRecipe)
    assert usual(change.recipe, "reduce") == 34


def test_revision_is_approved_with_the_target_of_its_limit() -> None:
    gateway = house()
    recipe = named(gateway, "custard-base")
    step = next(one for one in recipe.steps if one.id == "chill")
    assert step.limit is not None
    assert step.target is not None
    assert isinstance(give(gateway, change="revise recipe", recipe=with_step(recipe, step.id, target=None)), Accepted)
    after = next(one for one in named(gateway, "custard-base").steps if one.id == step.id)
    assert after.limit == step.limit
    assert after.target is not None


def test_recipe_whose_minutes_cannot_be_worked_out_is_refused_as_it_is_in_files() -> None:
    gateway = house()
    recipe = named(gateway, "damson-puree")
    takes = tuple(
        take.model_copy(update={"ingredient": "Sloes", "amount": Quantity(value=80, unit=Unit.EACH)})
        if take.ingredient == "Damsons"
        else take
        for take in recipe.steps[0].takes
    )
    unknown = with_step(recipe, recipe.steps[0].id, takes=takes).model_copy(update={"revision": recipe.revision})
    asked = with_step(unknown, "reduce", reckon=Reckon(drives_off_kg_per_h=2.0))
    told = give(gateway, change="revise recipe", recipe=asked)
    assert isinstance(told, Refusal)
    assert "worked out from the mix" in told.status
    assert "or take `reckon` out" in told.remedy


def test_minutes_that_the_mix_gives_follow_a_substitute() -> None:
    gateway = house()
    asked = with_step(named(gateway, "damson-puree"), "reduce", reckon=Reckon(drives_off_kg_per_h=1.5))
    assert isinstance(give(gateway, change="revise recipe", recipe=asked), Accepted)
    assert usual(named(gateway, "damson-puree"), "reduce") == 45
    give(gateway, change="swap ingredient", ingredient="Damsons", by="Sloes", allergens=[])
    # Nothing is known of their stones: the whole 4.2 kg go into the pot, not 86 % of them. By hand: a quarter of
    # 4.2 + 0.5 + 0.4 * 0.998 kg at 1.5 kg/h.
    assert usual(named(gateway, "damson-puree"), "reduce") == round(60 * 0.25 * (4.2 + 0.5 + 0.4 * 0.998) / 1.5)


def test_change_of_an_old_revision_is_not_put_down_as_one_of_the_present() -> None:
    gateway = house()
    recipe = named(gateway, "hazelnut-paste")
    nut = next(take for step in recipe.steps for take in step.takes if take.ingredient is not None)
    draft = {"kind": "write_draft", "command_id": "d1", "person": "manager", "of": recipe.id}
    old = recipe.model_copy(update={"revision": 2})
    assert isinstance(gateway.submit(COMMANDS.validate_python({**draft, "recipe": old})), Accepted)
    give(gateway, change="swap ingredient", ingredient=nut.ingredient, by="Another", allergens=["soy"])
    told = gateway.submit(COMMANDS.validate_python({**draft, "command_id": "d2", "draft": 1, "recipe": old}))
    assert isinstance(told, Refusal)
    assert (told.code, told.remedy) == (RefusalCode.STALE, "compare both, then write it as revision 3")


@pytest.mark.parametrize("back", [True, False])
def test_revision_that_brings_a_replaced_ingredient_back_says_so(back: bool) -> None:
    gateway = house()
    recipe = named(gateway, "damson-sorbet")
    give(gateway, change="swap ingredient", ingredient="Sugar", by="Cane sugar", allergens=[])
    assert gateway.state.kitchen is not None
    after = recipe if back else named(gateway, "damson-sorbet")
    said = ReviseRecipe(recipe=after.model_copy(update={"revision": 3})).says(gateway.state.kitchen)
    assert ("takes Sugar and no longer Cane sugar" in said) is back


def test_minutes_of_a_recipe_follow_the_revision_of_what_it_takes_and_what_is_begun_keeps_its_own() -> None:
    gateway = house()
    sorbet = with_step(named(gateway, "damson-sorbet"), "harden", reckon=Reckon(tub_mm=100))
    (harden,) = (step for step in sorbet.steps if step.process == "harden")
    assert isinstance(give(gateway, change="revise recipe", recipe=sorbet), Accepted)
    before, revision = usual(named(gateway, "damson-sorbet"), harden.id), named(gateway, "damson-sorbet").revision
    puree = named(gateway, "damson-puree")
    # Twice the sugar in the puree: less of its water is frozen when it is hard, so that it is hard sooner.
    takes = tuple(
        take.model_copy(update={"amount": take.amount.times(3.0)}) if take.ingredient == "Sugar" else take
        for take in puree.steps[0].takes
    )
    asked = with_step(puree, puree.steps[0].id, takes=takes)
    assert isinstance(give(gateway, change="revise recipe", recipe=asked), Accepted)
    after = named(gateway, "damson-sorbet")
    assert usual(after, harden.id) != before
    assert after.revision == revision
    assert gateway.state.kitchen is not None
    # As the files would give it, read with the new puree.
    anew = worked_out(after, gateway.state.kitchen)
    assert usual(anew, harden.id) == usual(after, harden.id)
    # It stands on record: a replay works nothing out.
    event = [r.event for r in gateway.records if isinstance(r.event, KitchenChanged)][-1]
    (change,) = event.changes
    assert isinstance(change, ReviseRecipe)
    assert [(one.recipe, one.step) for one in change.follow] == [("damson-sorbet", harden.id)]
