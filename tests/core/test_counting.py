"""Counts: what differs from the books goes on record with a reason, what agrees changes nothing."""

from typing import Any

import pytest

from orchestrator.core.ids import SupplyLotId
from orchestrator.core.material import books
from orchestrator.core.stock_events import StockCounted
from tests.core.balance import closes
from tests.core.script import Script, cook, in_a_planned_kitchen, with_base_aged
from tests.core.stock_script import WHO, at_the_door
from tests.fakes.kitchens import at

STOCK = {"lot": "B90", "recipe": "basil-custard", "quantity": "2 L", "made": at("Wed 05:00"), "place": "freezer"}
COUNT = {"lot": "in-1", "counted": "5.5 L", "reason": "spilt", "person": WHO}


def of_kind(script: Script, *, when: str = "Wed 07:40", **more: Any) -> list[StockCounted]:
    events = script.give(when, "count_stock", **{**COUNT, **more})
    return [event for event in events if isinstance(event, StockCounted)]


def test_count_puts_the_books_right_and_keeps_what_they_had() -> None:
    script = at_the_door()
    (event,) = of_kind(script, place="fridge")
    assert (event.lot, event.person, event.place, event.reason) == ("in-1", WHO, "fridge", "spilt")
    assert (str(event.books), str(event.counted)) == ("6 L", "5.5 L")
    account = books(script.state).accounts["in-1"]
    assert (account.start, account.corrected, account.left) == (6.0, pytest.approx(-0.5), pytest.approx(5.5))
    # Counted again, it differs from what was counted, not from what came.
    (again,) = of_kind(script, when="Wed 07:45", counted="5.8 L", reason="another can")
    assert str(again.books) == "5.5 L"
    assert script.state.pantry.left(SupplyLotId("in-1")) == pytest.approx(5.8)
    closes(script.state, script.log)


@pytest.mark.parametrize(("counted", "differs"), [("6.004 L", False), ("5.996 L", False), ("6.006 L", True)])
def test_count_that_agrees_within_five_millilitres_is_no_event(counted: str, differs: bool) -> None:
    assert bool(of_kind(at_the_door(), counted=counted)) is differs


@pytest.mark.parametrize(
    ("more", "status"),
    [
        ({"person": None}, None),
        ({"lot": "X9"}, "no such lot"),
        ({"counted": "5.5 kg"}, "it is counted in L"),
        ({"reason": " "}, "the books have 6 L, 5.5 are counted"),
        ({"lot": "C1", "counted": "5 L"}, "it is not begun"),
    ],
)
def test_count_of_what_is_not_there_or_in_another_unit_or_without_a_reason_is_refused(
    more: dict[str, Any], status: str | None
) -> None:
    refusal = at_the_door().refused("Wed 07:40", "count_stock", **{**COUNT, **more})
    assert refusal.remedy == "say who you are" if status is None else refusal.status == status


def test_food_in_work_is_not_counted_and_once_made_its_count_asks_for_a_plan() -> None:
    script = with_base_aged(at_the_door())
    script.give("Thu 09:00", "start_task", task="B1.churn", person=WHO)
    told = {"lot": "B1", "counted": "4.5 L", "person": WHO, "reason": "tasted"}
    assert script.refused("Thu 09:10", "count_stock", **told).status == "it is in work"
    script.give("Thu 09:30", "finish_task", task="B1.churn", person=WHO, measured={"volume_l": 4.9})
    events = script.give("Thu 09:40", "count_stock", **told)
    assert [event.kind for event in events] == ["stock_counted", "replan_wanted"]
    assert script.state.replan_reason == "B1 was counted: 4.5 L"
    assert books(script.state).accounts["B1"].left == pytest.approx(4.5)


def test_what_was_there_before_the_record_is_counted_and_planned_with() -> None:
    script = in_a_planned_kitchen(stock=[STOCK])
    script.give("Wed 07:00", "count_stock", lot="B90", counted="1.2 L", person=WHO, reason="sold over the counter")
    assert books(script.state).accounts["B90"].left == pytest.approx(1.2)
    assert script.state.replan_reason == "B90 was counted: 1.2 L"
    cook(script, "S1.simmer", "Wed 10:30", "Wed 11:00")
    closes(script.state, script.log)
