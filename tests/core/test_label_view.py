"""What a label says of a lot: dates, warmth, and what no label is printed for."""

from dataclasses import replace
from typing import Any

import pytest

from orchestrator.core.ids import CommandId, LotCode
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.views.labels import LabelView, label_view
from tests.core.script import Script, cook, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import EQUIPMENT, at

STOCK = {"lot": "B90", "recipe": "basil-custard", "quantity": "2 L", "made": at("Wed 05:00"), "place": "freezer"}


def view(script: Script, lot: str) -> LabelView:
    return label_view(script.state, {}, script.now, LotCode(lot))


def with_lives(script: Script, **lives: Any) -> Script:
    """Basil custard keeps and is at its best for so many minutes."""
    kitchen = script.state.kitchen
    assert kitchen is not None
    recipes = tuple(r.model_copy(update=lives) if r.id == "basil-custard" else r for r in kitchen.recipes)
    script.state = replace(script.state, kitchen=kitchen.model_copy(update={"recipes": recipes}))
    return script


@pytest.mark.parametrize(
    ("highs", "says"), [((-15, -18), -18), ((-18, -15), -18), ((-15, None), -15), ((None, None), None)]
)
def test_label_tells_the_coldest_of_the_places_in_which_it_may_be_kept(
    highs: tuple[int | None, ...], says: float | None
) -> None:
    freezer = next(machine for machine in EQUIPMENT if machine["id"] == "freezer")
    others = [machine for machine in EQUIPMENT if machine["id"] != "freezer"]
    kept = [
        {**freezer, "id": f"freezer-{number}", "holds": None if high is None else {"high": high, "grace": 20}}
        for number, high in enumerate(highs)
    ]
    script = in_a_planned_kitchen(equipment=[*others, freezer | {"kind": "drawer"}, *kept])
    assert (view(script, "B1").keep_at_most_c, view(script, "B1").frozen) == (says, True)


def test_label_of_what_is_not_made_yet_says_so_until_its_last_work_is_done() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    assert (view(script, "B1").made_at, view(script, "B1").made_is_planned) == (at("Thu 09:30"), True)
    assert (view(script, "C1").made_at, view(script, "C1").made_is_planned) == (at("Wed 10:15"), False)
    script.give("Thu 09:00", "start_task", task="B1.churn", person="early-cook")
    assert view(script, "B1").made_is_planned
    script.give("Thu 09:34", "finish_task", task="B1.churn", person="early-cook", measured={"volume_l": 4.9})
    assert (view(script, "B1").made_at, view(script, "B1").made_is_planned) == (at("Thu 09:34"), False)


def test_best_before_counts_from_what_was_made_and_gives_way_to_the_use_by() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    cook(script, "B1.churn", "Thu 09:00", "Thu 09:30", measured={"volume_l": 4.9})
    told = view(with_lives(script, best_before=1440, shelf_life=2880), "B1")
    assert (told.best_before, told.use_by) == (at("Fri 09:30"), at("Sat 09:30"))
    told = view(with_lives(script, best_before=4320, shelf_life=2880), "B1")
    assert (told.best_before, told.use_by) == (at("Sat 09:30"), at("Sat 09:30"))
    assert view(with_lives(script, best_before=None, shelf_life=2880), "B1").best_before is None
    assert view(with_lives(script, best_before=1440, shelf_life=None), "B1").best_before == at("Fri 09:30")


def test_stock_from_before_the_record_has_the_day_on_which_the_files_say_it_was_made() -> None:
    told = view(in_a_planned_kitchen(stock=[STOCK]), "B90")
    assert (told.made_at, told.made_is_planned, told.quantity.value) == (at("Wed 05:00"), False, 2.0)


@pytest.mark.parametrize(("decision", "status"), [(None, "on hold"), ("discard", "discarded"), ("rework", "rework")])
def test_no_label_for_what_somebody_must_decide_about_or_has_thrown_away(decision: str | None, status: str) -> None:
    script = with_base_aged(in_a_planned_kitchen())
    assert view(script, "C1").blocked == ""
    script.record(CommandId("hold"), (LotHeld(lot=LotCode("C1"), at=script.now, reason="seal open"),))
    if decision is not None:
        script.give("Wed 11:00", "decide_lot", lot="C1", decision=decision, reason="sour", person="manager")
    assert view(script, "C1").blocked.startswith(f"{status}: ")


def test_lot_that_was_released_has_its_labels_again() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.record(CommandId("hold"), (LotHeld(lot=LotCode("C1"), at=script.now, reason="seal open"),))
    script.give("Wed 11:00", "decide_lot", lot="C1", decision="release", reason="seal was whole", person="manager")
    assert LotCode("C1") in script.state.lots
    assert view(script, "C1").blocked == ""


def test_no_such_lot_has_no_label() -> None:
    with pytest.raises(KeyError):
        view(in_a_planned_kitchen(), "X9")
