"""A failed check of a probe puts on hold what it has judged since the last good one, in one deviation.

±1 °C of a food thermometer: FDA Food Code 2022, 4-203.11. That the monitoring records since the last good check are
looked at again is common practice of HACCP plans (verification, Codex CXC 1; from memory).
"""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from orchestrator.core.deviations import undecided
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import ReplanWanted
from orchestrator.core.ids import EquipmentId, ProbeId
from orchestrator.core.lot_events import DeviationOpened, LotHeld
from orchestrator.core.models import Probe
from orchestrator.core.probe_events import ProbeChecked
from orchestrator.core.state import LotStatus
from tests.core.doubt_script import churned
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged
from tests.core.test_by_products import cooked
from tests.core.test_material import Life
from tests.fakes.kitchens import at


def _check(script: Script, when: str, shown_c: float, probe: str = "hob-1-core") -> tuple[object, ...]:
    check = {"probe": probe, "point": "ice", "shown_c": shown_c, "person": "early-cook"}
    script.give(when, "check_probe", **check)
    return script.last.events


def test_failed_check_holds_what_the_probe_has_judged_and_what_was_made_from_it_in_one_deviation() -> None:
    script = churned(in_a_planned_kitchen())
    events = _check(script, "Thu 12:00", 2.0)
    assert [(e.lot, e.made_from) for e in events if isinstance(e, LotHeld)] == [("C1", None), ("B1", "C1")]
    (opened,) = [e for e in events if isinstance(e, DeviationOpened)]
    facts = opened.facts
    assert (facts.cause, facts.safety, facts.lots, facts.person) == (
        "probe check failed",
        True,
        ("C1", "B1"),
        "early-cook",
    )
    assert facts.reason.endswith("showed 2.0 °C where 0.0 °C was due; no good check before")
    assert (facts.applied, facts.readings) == ("FDA Food Code 2022, 4-203.11", ((at("Thu 12:00"), 2.0),))
    assert any(isinstance(e, ReplanWanted) for e in events)  # no plan uses them


def test_passed_check_and_one_of_a_probe_that_judged_nothing_open_none() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    assert [e for e in _check(script, "Wed 12:00", 1.0) if isinstance(e, LotHeld)] == []
    assert [e for e in _check(script, "Wed 12:05", 3.0) if isinstance(e, LotHeld)] == []  # nothing since the good one
    assert script.state.deviations == {}


def test_lot_in_doubt_by_a_check_is_released_only_by_a_code_after_a_second_look() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    _check(script, "Wed 12:00", 2.0)
    asked = {"lot": "C1", "decision": "release", "reason": "measured again"}
    refusal = script.refused("Wed 12:05", "decide_lot", person="manager", **asked)
    assert refusal.code is RefusalCode.BAD_VALUE
    refusal = script.refused("Wed 12:05", "decide_lot", person="manager", **asked, by_code="the inspector")
    assert refusal.code is RefusalCode.NOT_ALLOWED
    script.released("Wed 12:10", "C1", "measured again with a good probe")
    assert script.state.lots["C1"].status is LotStatus.FREE  # type: ignore[index]
    script.give("Wed 12:12", "take_action", deviation="DEV-1", act="probe checked", person="manager")
    script.give("Wed 12:15", "close_deviation", deviation="DEV-1", person="manager")
    assert not script.state.deviations["DEV-1"].open  # type: ignore[index]


def test_step_with_a_lot_in_doubt_by_a_check_does_not_start() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    _check(script, "Wed 12:00", 2.0)
    refusal = script.refused("Thu 09:00", "start_task", task="B1.churn", person="early-cook")
    assert refusal.status.startswith("lot C1 is on hold")


def test_second_failed_check_opens_a_second_deviation_and_holds_nothing_twice() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    _check(script, "Wed 12:00", 2.0)
    events = _check(script, "Wed 12:30", 2.1)
    assert [e for e in events if isinstance(e, LotHeld)] == []
    assert [d.facts.lots for d in script.state.deviations.values()] == [("C1",), ("C1",)]


def test_ingredients_and_left_overs_in_a_fridge_whose_probe_failed_its_check_are_held_with_the_rest() -> None:
    script = cooked()
    eggs, white = script.state.pantry.lots
    events = _check(script, "Thu 12:00", 2.0, probe="fridge-air")
    assert {eggs, white} <= {e.lot for e in events if isinstance(e, LotHeld)}
    (deviation,) = script.state.deviations.values()
    assert {str(eggs), str(white)} <= set(deviation.lots)
    food = cooked()
    events = _check(food, "Thu 12:00", 2.0, probe="hob-1-core")  # that one was never in the fridge
    assert eggs not in {e.lot for e in events if isinstance(e, LotHeld)}


def test_lots_of_former_days_are_named_by_a_failed_check_with_who_got_them_and_none_of_them_is_held(
    tmp_path: Path,
) -> None:
    life = Life(36, tmp_path)
    life.run(220)
    now = life.script.kitchen.planned_until + timedelta(days=3)
    life.now = now
    before = life.script.state
    assert life.act("tick")
    former = set(before.begun) & set(life.script.state.past.batches)
    assert former
    probe = Probe(id=ProbeId("freezer-air"), name="Freezer air", equipment=EquipmentId("freezer"), reads="air")
    kitchen = life.script.state.kitchen
    assert kitchen is not None
    life.script.state = replace(life.script.state, kitchen=kitchen.model_copy(update={"probes": (probe,)}))
    assert life.act("check_probe", probe="freezer-air", point="ice", shown_c=3.0)
    (check,) = (e for e in life.script.last.events if isinstance(e, ProbeChecked))
    named = former & set(check.in_doubt)
    assert named
    assert not {e.lot for e in life.script.last.events if isinstance(e, LotHeld)} & former
    (opened,) = (e for e in life.script.last.events if isinstance(e, DeviationOpened))
    assert named <= set(opened.facts.lots)
    assert set(opened.facts.served) & set(life.script.state.past.orders)
    deviation = life.script.state.deviations[opened.deviation]
    assert not named & set(undecided(life.script.state, deviation))
