"""By-products in the plan: what only steps leave is taken after they left it, while it keeps, and no more of it."""

from typing import Any

import pytest

from orchestrator.core.check import check
from orchestrator.core.ids import EquipmentId
from orchestrator.core.models import KeptRoom, Kitchen, PlanRequest
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.supplies_now import with_what_is_left
from tests.fakes.tiny import START, at, tiny_data
from tests.planner.planned import planned


def biscuits(whey: str) -> dict[str, Any]:
    """Ten biscuits, mixed with whey and handed over."""
    return {
        "id": "biscuits",
        "name": "Biscuits",
        "code": "W",
        "makes": "product",
        "yields": "10 each",
        "batch": {"least": "5 each", "most": "40 each"},
        "steps": [
            {
                "id": "mix",
                "process": "mix",
                "title": "Mix the biscuits",
                "station": "stove",
                "duration": {"shortest": 10, "usual": 15, "longest": 20},
                "attended": [{"when": "throughout"}],
                "skill": "cook",
                "takes": [{"ingredient": "whey", "amount": whey, "allergens": ["milk"]}],
            },
        ],
    }


def request(whey: str = "300 ml", *, keeps: int | None = None, bought: bool = False, **told: Any) -> PlanRequest:
    """The tiny kitchen, whose base leaves half a litre of whey (at 8 L), with ten biscuits ordered for Saturday too."""
    data = tiny_data()
    leave = {"ingredient": "whey", "amount": "500 ml", "of": "milk"} | ({"keeps": keeps} if keeps else {})
    data["recipes"][0]["steps"][0]["leaves"] = [leave]
    data["recipes"].append(biscuits(whey))
    data["orders"][0]["lines"].append({"product": "biscuits", "quantity": "10 each"})
    data["buying"] = {"ingredients": [{"ingredient": "whey", "ordered": bought, **told}]}
    return PlanRequest(kitchen=with_what_is_left(Kitchen.model_validate(data)), now=START)


@pytest.mark.parametrize("effort", ["repair", "full"])
def test_what_only_a_step_leaves_is_taken_after_it(effort: Any) -> None:
    # 4.2 L of base for 4 L: it leaves 4.2 / 8 of half a litre, 262 ml; ten biscuits take 200 ml.
    plan = planned(request("200 ml"), effort)
    assert plan.task("W1.mix").start >= plan.task("C1.cook").end
    assert [link.after for link in plan.task("W1.mix").links] == ["C1.cook"]


def test_it_is_taken_while_it_keeps() -> None:
    plan = planned(request("200 ml", keeps=120))
    mix, cook = plan.task("W1.mix"), plan.task("C1.cook")
    assert 0 <= (mix.start - cook.end).total_seconds() / 60 <= 120


def test_where_steps_leave_too_little_the_order_is_unmet_and_says_so() -> None:
    plan = planned(request("300 ml"))  # more than 262 ml
    (outlook,) = plan.outlooks
    assert outlook.met is False
    assert "whey, which no step leaves in time" in outlook.reason


def test_what_was_on_hand_at_the_start_counts_too() -> None:
    plan = planned(request("300 ml", on_hand="300 ml"))
    assert plan.task("W1.mix").links == ()


def test_what_is_bought_as_well_waits_for_no_step() -> None:
    made = request("300 ml", bought=True)
    assert made.kitchen.supplies == ()
    assert planned(made).task("W1.mix").links == ()


def test_checker_finds_biscuits_mixed_before_there_is_whey_and_after_it_has_spoilt() -> None:
    asked = request("200 ml", keeps=120)
    plan = planned(asked)
    cook = plan.task("C1.cook")
    for start in (START, cook.end.replace(hour=13, minute=30)):
        mix = plan.task("W1.mix")
        moved = mix.model_copy(update={"start": start, "end": start + (mix.end - mix.start), "links": ()})
        tasks = tuple(moved if task.id == mix.id else task for task in plan.tasks)
        rules = {v.rule for v in check(plan.model_copy(update={"tasks": tasks}), asked)}
        assert ("supplies" in rules) is (start < cook.end or (start - cook.end).total_seconds() > 7200)


def test_delivery_that_comes_later_need_not_be_waited_for_where_a_step_leaves_enough_before() -> None:
    first = request("200 ml", bought=True)
    plan = planned(first)
    late = {"ingredient": "whey", "ready": at(3, "10:30"), "why": "delivery"}
    kitchen = first.kitchen.model_validate(first.kitchen.model_dump() | {"supplies": [late]})
    # With the plan before, the whey is known to be left on an earlier day than the delivery.
    again = planned(PlanRequest(kitchen=kitchen, now=START, previous=plan))
    assert again.task("C1.cook").end < at(3, "10:30")
    assert again.task("C1.cook").end <= again.task("W1.mix").start < at(3, "10:30")
    assert first.kitchen.supplies == ()
    assert Quantity(value=0.2, unit=Unit.LITRE) == first.kitchen.recipes[-1].steps[0].takes[0].amount


def kept_free(room: float, *, sure: bool, until: str = "11:00") -> PlanRequest:
    """The tiny kitchen, planned, with so much of its fridge taken since the start until an hour of the third day."""
    first = PlanRequest(kitchen=Kitchen.model_validate(tiny_data()), now=START)
    plan = planned(first)
    kept = KeptRoom(equipment=EquipmentId("fridge"), start=START, end=at(2, until), room=room, sure=sure)
    return first.model_copy(update={"previous": plan, "kept": (kept,)})


@pytest.mark.parametrize("effort", ["repair", "full"])
def test_nothing_is_planned_into_the_room_of_what_stands_there(effort: Any) -> None:
    # 4.2 L of base do not fit beside 16 L in a fridge of 20.
    asked = kept_free(16, sure=True)
    before = asked.previous
    assert before is not None
    aged = next(task for task in before.tasks if task.equipment == "fridge")
    assert aged.start < at(2, "11:00")
    assert {v.rule for v in check(before, asked)} == {"capacity"}
    plan = planned(asked, effort)
    ages = next(task for task in plan.tasks if task.equipment == "fridge")
    assert ages.start >= at(2, "11:00")
    assert all(outlook.met for outlook in plan.outlooks)


def test_beside_what_stands_there_everything_stays_that_fits() -> None:
    asked = kept_free(15.8, sure=True)
    assert asked.previous is not None
    assert check(asked.previous, asked) == ()
    assert planned(asked).tasks == asked.previous.tasks


@pytest.mark.parametrize("effort", ["repair", "full"])
def test_order_goes_before_what_is_yet_to_be_left(effort: Any) -> None:
    # Kept free for the whole time the base would find no place; as it is not there yet, the order has its room.
    asked = kept_free(16, sure=False, until="23:00").model_copy(deep=True)
    kept = asked.kept[0].model_copy(update={"end": at(5, "00:00")})
    plan = planned(asked.model_copy(update={"kept": (kept,)}), effort)
    assert all(outlook.met for outlook in plan.outlooks)
    # What stands there for so long is a fact: the order cannot be met.
    stands = kept.model_copy(update={"sure": True})
    unmet = planned(asked.model_copy(update={"kept": (stands,)}), effort)
    assert [outlook.met for outlook in unmet.outlooks] == [False]


def test_where_both_find_room_what_is_yet_to_be_left_has_its_own() -> None:
    asked = kept_free(16, sure=False)
    plan = planned(asked)
    ages = next(task for task in plan.tasks if task.equipment == "fridge")
    assert ages.start >= at(2, "11:00")
    assert all(outlook.met for outlook in plan.outlooks)
