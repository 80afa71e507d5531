"""Recall drills: what has to be found, where it is, whom to call, and what is refused.

One step back and one step forward by name is what Regulation (EC) No 178/2002, article 18, asks of a food business
(from memory); that what was thrown away counts as accounted for is common practice.
"""

import pytest

from orchestrator.core.errors import RefusalCode
from orchestrator.core.models.stock import Drill, DrillItem
from orchestrator.core.recall import gone_of, items_of
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged
from tests.core.stock_script import WHO, at_the_door, churned_and_tempered
from tests.fakes.kitchens import at

STOCK = {
    "lot": "S90",
    "recipe": "damson-sorbet",
    "quantity": "2 L",
    "made": at("Wed 05:00"),
    "place": "freezer",
}


def drill_on(script: Script, lot: str, when: str) -> Drill:
    script.give(when, "start_drill", lot=lot, person="manager")
    return list(script.state.drills.values())[-1]


def told(item: DrillItem) -> tuple[str, str, str, str]:
    return item.id, item.name, item.where, item.customer


def test_drill_names_each_lot_its_place_and_the_customer_to_be_called() -> None:
    drill = drill_on(churned_and_tempered(), "in-1", "Sat 10:51")
    assert drill.name == "whole milk"
    assert {told(item) for item in drill.items} == {
        ("in-1", "whole milk", "Fridge", ""),
        ("B1", "Basil custard", "", ""),  # Its stay is over: the books know of a rest, and of no place for it.
        ("B1/SAT-STALL", "Basil custard", "", "Market stall"),
    }


def test_drill_on_food_in_work_says_where_its_task_has_it() -> None:
    script = with_base_aged(at_the_door())
    assert {told(item) for item in drill_on(script, "in-1", "Wed 11:00").items} == {
        ("in-1", "whole milk", "Fridge", ""),
        ("C1", "Custard base", "Fridge", ""),
    }


def test_drill_on_stock_from_before_the_record_finds_it_where_the_files_say() -> None:
    script = in_a_planned_kitchen(stock=[STOCK])
    (item,) = drill_on(script, "S90", "Wed 07:00").items
    assert (told(item), item.share) == (("S90", "Damson sorbet", "Freezer", ""), 1.0)


def test_what_was_thrown_away_is_not_looked_for_and_counts_as_found() -> None:
    script = churned_and_tempered()
    script.give("Sat 10:52", "report_problem", task="B1.churn", what="quality", hold_lot=True, person=WHO)
    script.give("Sat 10:53", "decide_lot", lot="B1", decision="discard", reason="grainy", person="manager")
    items = items_of(script.state, "in-1")
    assert items is not None
    assert {item.id for item in items} == {"in-1", "B1/SAT-STALL"}
    # Half of the milk went into B1; 0.1 of its 4.9 L were left when it was thrown away.
    assert gone_of(script.state, "in-1") == pytest.approx(0.5 * 0.1 / 4.9)
    drill = drill_on(script, "in-1", "Sat 10:54")
    assert drill.accounted == pytest.approx(0.5 * 0.1 / 4.9)
    assert sum(item.share for item in drill.items) + drill.gone == pytest.approx(1.0)


def test_last_word_about_an_item_counts() -> None:
    script = churned_and_tempered()
    drill_on(script, "in-1", "Sat 10:51")
    for found in (True, False, True):
        script.give("Sat 10:55", "mark_drill", drill="DRILL-1", item="in-1", found=found, person="manager")
        (drill,) = script.state.drills.values()
        assert drill.accounted == pytest.approx(0.5 if found else 0.0)


@pytest.mark.parametrize(
    ("kind", "what", "code", "status"),
    [
        ("start_drill", {"lot": "X9"}, RefusalCode.UNKNOWN, "no such lot"),
        ("mark_drill", {"drill": "DRILL-7", "item": "in-1"}, RefusalCode.UNKNOWN, "no such drill"),
        ("end_drill", {"drill": "DRILL-7"}, RefusalCode.UNKNOWN, "no such drill"),
        ("mark_drill", {"drill": "DRILL-1", "item": "S1"}, RefusalCode.UNKNOWN, "S1 is not on its list"),
    ],
)
def test_drill_of_what_is_not_there_is_refused(kind: str, what: dict[str, str], code: RefusalCode, status: str) -> None:
    script = churned_and_tempered()
    drill_on(script, "in-1", "Sat 10:51")
    if kind == "start_drill":
        script.give("Sat 10:52", "end_drill", drill="DRILL-1", person="manager")
    refusal = script.refused("Sat 10:53", kind, person="manager", **what)
    assert (refusal.code, refusal.status) == (code, status)


@pytest.mark.parametrize(
    ("kind", "what"),
    [
        ("start_drill", {"lot": "C1"}),
        ("mark_drill", {"drill": "DRILL-1", "item": "in-1"}),
        ("end_drill", {"drill": "DRILL-1"}),
    ],
)
def test_drill_needs_a_named_person(kind: str, what: dict[str, str]) -> None:
    script = churned_and_tempered()
    drill_on(script, "in-1", "Sat 10:51")
    assert script.refused("Sat 10:53", kind, **what).remedy == "say who you are"
