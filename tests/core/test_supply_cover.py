"""Which work there is enough of a short ingredient for: sums that can be done on paper, task by task."""

from datetime import datetime
from typing import Any

import pytest

from orchestrator.core.ids import SupplyLotId, TaskId
from orchestrator.core.models import Batch, Kitchen
from orchestrator.core.planning import plan_request
from orchestrator.core.supplies_now import supplies_now
from orchestrator.core.supply_cover import Cover, Known, cover, cover_now
from tests.core.script import Script, at_target, in_a_planned_kitchen
from tests.core.test_by_products import WHITES, WHO, leaving
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan
from tests.planner.planned import planned

DAMSONS = {"ingredient": "damsons", "ready": at("Fri 10:00")}


def batches(*lots: str, recipe: str = "damson-sorbet") -> list[Batch]:
    """Each takes 4 kg of damsons."""
    told = {"recipe": recipe, "revision": 1, "size": "5 L", "scale": 1.0, "allergens": []}
    return [Batch.model_validate({"lot": lot, **told}) for lot in lots]


def known(begun: tuple[str, ...] = (), over: tuple[str, ...] = (), **when: str) -> Known:
    """Starts by lot; what is over has ended at its start."""
    starts: dict[TaskId, datetime] = {TaskId(f"{lot}.simmer"): at(told) for lot, told in when.items()}
    return Known(starts, {}, {TaskId(f"{lot}.simmer") for lot in (*begun, *over)}, set())


def enough(found: Cover) -> set[str]:
    return {task for task, _ in found.enough}


def kitchen(**supply: Any) -> Kitchen:
    return small_kitchen(supplies=[{**DAMSONS, **supply}])


def test_what_is_there_goes_to_what_starts_first_until_it_is_used_up() -> None:
    when = known(S1="Thu 09:00", S2="Thu 08:00", S3="Thu 10:00")
    for on_hand, names in (
        ("3.9 kg", set()),
        ("4 kg", {"S2.simmer"}),
        ("9 kg", {"S2.simmer", "S1.simmer"}),
        ("12 kg", {"S1.simmer", "S2.simmer", "S3.simmer"}),
    ):
        assert enough(cover(kitchen(on_hand=on_hand), batches("S1", "S2", "S3"), when)) == names


def test_what_has_begun_has_its_share_before_what_would_start_sooner() -> None:
    when = known(begun=("S1",), S1="Thu 09:00", S2="Thu 08:00")
    assert enough(cover(kitchen(on_hand="5 kg"), batches("S1", "S2"), when)) == {"S1.simmer"}


def test_what_began_before_the_count_took_of_what_was_there_before() -> None:
    when = known(begun=("S1",), S1="Wed 08:00", S2="Thu 08:00")
    short = {"on_hand": "5 kg", "counted_at": at("Wed 09:00")}
    assert enough(cover(kitchen(**short), batches("S1", "S2"), when)) == {"S2.simmer"}
    # Counted while it was being started, it counts against what there is.
    short["counted_at"] = at("Wed 08:00")
    assert enough(cover(kitchen(**short), batches("S1", "S2"), when)) == {"S1.simmer"}


def test_work_whose_start_nobody_knows_comes_last() -> None:
    assert enough(cover(kitchen(on_hand="5 kg"), batches("S1", "S2"), known(S2="Sat 08:00"))) == {"S2.simmer"}


def test_nothing_on_hand_and_nothing_left_over_lets_all_of_it_wait() -> None:
    assert cover(kitchen(), batches("S1"), known(S1="Thu 09:00")) == Cover()


def cooked_with_whites_expected() -> Script:
    """Egg whites are delivered on Friday, and some take them; the base, cooked on Wednesday, leaves 0.9 kg."""
    recipes = [recipe.model_dump(mode="json") for recipe in leaving(small_kitchen(), WHITES)]
    for recipe in recipes:
        if recipe["id"] == "damson-sorbet":
            recipe["steps"][0]["takes"] += [{"ingredient": "egg white", "amount": "0.2 kg", "allergens": ["egg"]}]
    supply = {"ingredient": "egg white", "ready": at("Fri 10:00")}
    plan = small_plan(small_kitchen(recipes=recipes))
    labelled = tuple(b.model_copy(update={"allergens": ("egg",)}) if b.lot == "S1" else b for b in plan.batches)
    plan = plan.model_copy(update={"batches": labelled})
    script = in_a_planned_kitchen(plan, recipes=recipes, supplies=[supply])
    script.give("Wed 08:00", "start_task", task="C1.cook", person=WHO)
    at_target(script, "C1.cook", "hob-1-core", "hob-1", 83)
    script.give("Wed 08:40", "finish_task", task="C1.cook", person=WHO)
    return script


@pytest.mark.parametrize(("when", "there"), [("Wed 08:41", 0.9), ("Thu 08:41", 0.9), ("Fri 08:41", 0.0)])
def test_what_steps_have_left_of_what_is_delivered_later_counts_until_its_date(when: str, there: float) -> None:
    script = cooked_with_whites_expected()
    (supply,) = supplies_now(script.state, at(when))
    assert supply.on_hand is not None
    assert (supply.on_hand.value, supply.ready) == (pytest.approx(there), at("Fri 10:00"))
    assert supply.counted_at == at("Wed 08:40")


def test_left_over_that_somebody_holds_or_has_thrown_away_is_not_counted_on() -> None:
    script = cooked_with_whites_expected()
    script.give("Wed 09:00", "report_problem", task="C1.cook", what="quality", hold_lot=True, person=WHO)
    (supply,) = supplies_now(script.state, at("Wed 09:01"))
    assert supply.on_hand is None


def test_what_is_left_adds_to_what_was_counted_before_and_not_to_a_later_count() -> None:
    script = cooked_with_whites_expected()
    change = {"change": "supply moved", "ingredient": "egg white", "ready": at("Sat 10:00"), "on_hand": "1.5 kg"}
    script.give("Wed 09:00", "change_kitchen", changes=[change], person="manager", reason="the van")
    (supply,) = supplies_now(script.state, at("Wed 09:01"))
    assert supply.on_hand is not None
    assert supply.on_hand.value == pytest.approx(1.5)


def test_work_takes_what_a_step_has_left_and_does_not_wait_for_the_delivery() -> None:
    script = cooked_with_whites_expected()
    plan = planned(plan_request(script.state, at("Wed 08:41")))
    assert at("Wed 08:41") <= plan.task(TaskId("S1.simmer")).start < at("Fri 10:00")
    assert enough(cover_now(script.state, at("Wed 08:41"))) >= {"S1.simmer"}
    script.give("Wed 10:30", "start_task", task="S1.simmer", person=WHO)
    assert script.state.pantry.left(SupplyLotId("C1-left-1")) == pytest.approx(0.7)
