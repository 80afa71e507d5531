"""A cold place that fails with ingredients and left-overs in it: asked about like every lot, and not used meanwhile.

Source: FDA Food Code 2022, 3-501.16 (cold holding, 5 °C): eggs taken from their shells and milk are such food. What is
asked, and that air alone tells only the most that they can have reached, is ours.
"""

import dataclasses
import math
from typing import Any

import pytest

from orchestrator.core.deviations import undecided
from orchestrator.core.deviations.rooms import rooms
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import Recorded
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import EquipmentId, LotCode, SupplyLotId
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.pantry import Pantry
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.state import LotStatus, State
from orchestrator.core.views import place_views
from orchestrator.core.views.lots import bought_in_doubt
from tests.core.doubt_script import only
from tests.core.script import Script, in_a_planned_kitchen
from tests.core.test_by_products import WHITES as WHITES_LEFT
from tests.core.test_by_products import WHO, cooked, leaving
from tests.fakes.kitchens import EQUIPMENT, at, small_kitchen

EGGS, WHITES = LotCode("in-1"), LotCode("C1-left-1")


def failed(celsius: float = 9.0) -> Script:
    """The fridge is warm since 08:20, and past its grace; the whites came into it at 08:40."""
    script = cooked()
    script.reads("fridge-air", "fridge", celsius=celsius, worst_c=celsius, outside_since=at("Wed 08:20"))
    script.give("Wed 08:45", "tick")
    return script


def before_cooking() -> Script:
    """Eggs stand in a fridge that is warm since 07:10, and past its grace; nothing has begun."""
    script = in_a_planned_kitchen(recipes=[r.model_dump(mode="json") for r in leaving(small_kitchen(), WHITES_LEFT)])
    eggs = {"ingredient": "eggs", "quantity": "3 kg", "place": "fridge", "use_by": at("Fri 07:00")}
    script.give("Wed 07:00", "receive_delivery", outcome="accepted", person=WHO, **eggs)
    script.reads("fridge-air", "fridge", celsius=9.0, worst_c=9.0, outside_since=at("Wed 07:10"))
    script.give("Wed 07:30", "tick")
    return script


def answer(script: Script, when: str, lot: LotCode, what: str, **more: str) -> Any:
    return script.try_(when, "answer_lot", lot=lot, equipment="fridge", answer=what, person=WHO, **more)


def test_warm_fridge_asks_about_eggs_and_whites_in_it_and_not_about_what_is_gone() -> None:
    script = failed()
    assert set(undecided(script.state, only(script))) >= {EGGS, WHITES}
    script = cooked()
    counted = {"lot": "C1-left-1", "counted": "0 kg", "reason": "a meringue"}
    script.give("Wed 08:41", "count_stock", person=WHO, **counted)
    script.reads("fridge-air", "fridge", celsius=9.0, worst_c=9.0, outside_since=at("Wed 08:20"))
    script.give("Wed 08:45", "tick")
    assert WHITES not in only(script).lots
    assert EGGS in only(script).lots


def test_silent_fridge_asks_about_what_has_stood_in_it_as_long_without_a_reading() -> None:
    script = cooked()
    script.reads("fridge-air", "fridge", celsius=3.0, silent_since=at("Wed 08:15"))
    # The whites came at 08:40: half an hour later nobody knows how they were kept.
    script.give("Wed 08:45", "tick")
    assert only(script).lots == (EGGS,)
    script.give("Wed 09:10", "tick")
    silent = next(d for d in script.state.deviations.values() if d.facts.cause == "record gap")
    assert silent.lots == (EGGS, WHITES)


def test_eggs_in_doubt_go_into_no_step_until_somebody_has_decided() -> None:
    script = failed()
    refusal = script.refused("Wed 08:46", "use_lot", task="C1.cook", lot="in-1", person=WHO)
    assert refusal.code is RefusalCode.NOT_ALLOWED
    assert refusal.status.startswith("lot in-1 is asked about: ")


def test_step_whose_ingredient_is_only_there_in_doubt_does_not_begin() -> None:
    script = before_cooking()
    refusal = script.refused("Wed 08:00", "start_task", task="C1.cook", person=WHO)
    assert refusal.status.startswith("lot in-1 is asked about: ")
    assert refusal.remedy == "say first what becomes of lot in-1: moved, kept, on hold or discarded"
    # Other eggs, that stand elsewhere, may go in.
    fresh = {"ingredient": "eggs", "quantity": "3 kg", "outcome": "accepted", "use_by": at("Fri 07:00")}
    script.give("Wed 08:01", "receive_delivery", person=WHO, **fresh)
    script.give("Wed 08:02", "start_task", task="C1.cook", person=WHO)
    assert {use.lot for use in script.state.pantry.uses["C1.cook"] if use.ingredient == "eggs"} == {"in-2"}


def test_whites_that_may_have_warmed_are_not_kept_but_held_or_thrown_away() -> None:
    script = failed()
    kept = answer(script, "Wed 08:46", WHITES, "kept")
    assert kept.code is RefusalCode.GATE_SHUT
    assert kept.remedy == "measure its middle by hand: at most 5 °C; else put it on hold or discard it"
    answer(script, "Wed 08:47", WHITES, "on hold")
    assert script.state.lots[WHITES].status is LotStatus.ON_HOLD
    answer(script, "Wed 08:48", EGGS, "discarded", reason="stood at 9 °C")
    assert script.state.lots[EGGS].status is LotStatus.DISCARDED
    assert undecided(script.state, only(script)) == (WHITES,)
    assert [view.lot for view in bought_in_doubt(script.state, script.facts, script.now)] == [EGGS]


def test_whites_measured_cold_are_kept_and_measured_warm_go_on_hold_by_themselves() -> None:
    script = failed()
    script.give("Wed 08:46", "measure_ingredient", lot="C1-left-1", celsius=4.2, person=WHO)
    script.give("Wed 08:46", "measure_ingredient", lot="in-1", celsius=7.5, person=WHO)
    assert answer(script, "Wed 08:46", WHITES, "kept").events
    held = script.state.lots[EGGS]
    assert (held.status, held.reason.split(" by hand")[0]) == (LotStatus.ON_HOLD, "7.5 °C")
    assert undecided(script.state, only(script)) == (EGGS,)


@pytest.mark.parametrize(("warm_since", "held"), [("Wed 07:40", {"in-1", "C1", "C1-left-1"}), ("Wed 08:20", {"in-1"})])
def test_delivery_measured_warm_holds_what_was_made_from_it_since_its_fridge_failed(
    warm_since: str, held: set[str]
) -> None:
    """The base took of the eggs at 08:00; what was taken out before the fridge failed is not in doubt."""
    script = cooked()
    script.reads("fridge-air", "fridge", celsius=9.0, worst_c=9.0, outside_since=at(warm_since))
    script.give("Wed 08:45", "tick")
    script.give("Wed 08:46", "measure_ingredient", lot="in-1", celsius=7.5, person=WHO)
    on_hold = {lot for lot, record in script.state.lots.items() if record.status is LotStatus.ON_HOLD}
    assert on_hold == held
    if "C1" in held:
        assert script.state.lots[LotCode("C1")].reason.startswith("made from in-1, which is on hold: 7.5 °C by hand")
        assert set(only(script).lots) >= held


@pytest.mark.parametrize(("warm_since", "held"), [("Wed 07:40", {"C1", "C1-left-1"}), ("Wed 08:20", set())])
def test_delivery_thrown_away_unmeasured_holds_what_was_made_from_it_since_its_fridge_failed(
    warm_since: str, held: set[str]
) -> None:
    """As one that was measured warm: nobody knows better of it."""
    script = cooked()
    script.reads("fridge-air", "fridge", celsius=9.0, worst_c=9.0, outside_since=at(warm_since))
    script.give("Wed 08:45", "tick")
    assert answer(script, "Wed 08:46", EGGS, "discarded", reason="stood at 9 °C").events
    assert {lot for lot, record in script.state.lots.items() if record.status is LotStatus.ON_HOLD} == held
    assert set(undecided(script.state, only(script))) == held | {WHITES}
    if held:
        reason = script.state.lots[LotCode("C1")].reason
        assert reason.startswith("made from in-1, which was discarded: ")
        answer(script, "Wed 08:47", WHITES, "discarded", reason="from the same eggs")
        script.released("Wed 08:50", "C1", "cooked at once to 83 °C")
        assert undecided(script.state, only(script)) == ()


@pytest.mark.parametrize(("there", "free"), [(0.9, ()), (0.45, ("fridge-2",))])
def test_room_that_left_overs_take_in_another_fridge_is_not_offered_twice(there: float, free: tuple[str, ...]) -> None:
    """It holds a litre and a half, and a litre is to be carried there: what stands in it takes a litre, or half."""
    second = {**next(e for e in EQUIPMENT if e["id"] == "fridge"), "id": "fridge-2", "capacity": "1.5 L"}
    script = in_a_planned_kitchen(equipment=[*EQUIPMENT, second])
    whites = {"ingredient": "egg white", "quantity": "0.9 kg", "received_at": at("Wed 08:40"), "made_from": "C1"}
    one, other = (
        IngredientLot.model_validate({"id": lot, "place": place, "room": 1.0, **whites})
        for lot, place in ((WHITES, "fridge"), ("C2-left-1", "fridge-2"))
    )
    pantry = Pantry({lot.id: lot for lot in (one, other)}, counted={other.id: there - 0.9})
    state = dataclasses.replace(script.state, pantry=pantry)
    assert tuple(e.id for e in rooms(state, {}, at("Wed 08:45"), EquipmentId("fridge"), WHITES)) == free


def test_reading_in_another_unit_is_asked_about_and_one_of_nothing_on_hand_refused() -> None:
    script = failed()
    doubtful = script.refused("Wed 08:46", "measure_ingredient", lot="in-1", celsius=39.0, person=WHO)
    assert (doubtful.code, doubtful.meant) == (RefusalCode.DOUBTFUL, pytest.approx(3.9))
    script.give("Wed 08:47", "measure_ingredient", lot="in-1", celsius=39.0, sure=True, person=WHO)
    unknown = script.refused("Wed 08:48", "measure_ingredient", lot="C1", celsius=4.0, person=WHO)
    assert unknown.remedy == "the code of a delivery, or of a left-over; in a batch, measure at its step"


def test_page_of_the_fridge_shows_them_with_amount_and_allergens() -> None:
    script = failed()
    (fridge,) = (v for v in place_views(script.state, script.facts, script.now) if v.equipment == "fridge")
    shown = {lot.lot: lot for lot in fridge.lots}
    assert (shown[EGGS].name, shown[EGGS].amount, shown[EGGS].allergens) == (
        "eggs",
        Quantity(value=1.5, unit=Unit.KILOGRAM),
        ("egg",),
    )
    assert (shown[WHITES].name, shown[WHITES].may_be_kept, shown[WHITES].settled) == ("egg white", False, False)
    # 25 min in air of 9 °C, from 5 °C, a lag of 30 min: 9 − 4 e^(−25/30).
    assert shown[WHITES].core_at_most_c == pytest.approx(9 - 4 * math.exp(-25 / 30), abs=1e-6)
    calm = cooked()
    calm.reads("fridge-air", "fridge", celsius=3.0)
    (fridge,) = (v for v in place_views(calm.state, calm.facts, calm.now) if v.equipment == "fridge")
    assert {lot.lot for lot in fridge.lots if lot.settled} >= {EGGS, WHITES}


def test_yolk_is_moved_to_another_fridge_where_it_is_no_longer_asked_about() -> None:
    second = {**next(e for e in EQUIPMENT if e["id"] == "fridge"), "id": "fridge-2", "name": "Second fridge"}
    script = in_a_planned_kitchen(equipment=[*EQUIPMENT, second])
    yolk = {"ingredient": "egg yolk", "quantity": "2 kg", "place": "fridge", "use_by": at("Fri 07:00")}
    script.give("Wed 07:00", "receive_delivery", outcome="accepted", person=WHO, **yolk)
    script.give("Wed 07:05", "stop_machine", equipment="fridge", reason="its door hangs", person=WHO)
    assert only(script).lots == (EGGS,)
    # No probe is in it: nobody knows how warm the yolk is before somebody has measured.
    assert answer(script, "Wed 07:06", EGGS, "moved", to="fridge-2").code is RefusalCode.GATE_SHUT
    script.give("Wed 07:07", "measure_ingredient", lot="in-1", celsius=4.0, person=WHO)
    assert answer(script, "Wed 07:08", EGGS, "moved", to="freezer").remedy == "one of fridge-2"
    answer(script, "Wed 07:08", EGGS, "moved", to="fridge-2")
    assert script.state.pantry.lots[SupplyLotId("in-1")].place == "fridge-2"
    assert undecided(script.state, only(script)) == ()
    replayed = State()
    for recorded in script.log:
        replayed = evolve(replayed, Recorded.model_validate_json(recorded.model_dump_json()))
    assert (replayed.pantry, replayed.deviations) == (script.state.pantry, script.state.deviations)
