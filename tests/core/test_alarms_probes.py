"""Alarms about probes: who is told of one that may not be believed, and of a low battery."""

from orchestrator.core.ids import EquipmentId, ProbeId
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.alarm import Help, Priority
from orchestrator.core.models.health import HealthFinding, Sign
from tests.core.alarm_script import all_told, facts_of, step
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing, planned


def fridge(*signs: Sign) -> ProbeFact:
    health = tuple(HealthFinding(sign=s, since=at("Wed 09:00"), amount=1, limit=2, unit="minutes") for s in signs)
    return ProbeFact(probe=ProbeId("fridge-air"), equipment=EquipmentId("fridge"), celsius=3.0, health=health)


DOUBTED, BATTERY = "probe_doubted:fridge-air", "probe_battery:fridge-air"


def test_doubtful_probe_that_watches_food_is_a_warning_with_its_lots_and_what_to_do() -> None:
    facts = facts_of(base_ageing(), "Wed 13:10", DOUBTED, fridge(Sign.STUCK))
    assert (facts.priority, facts.lots, facts.stations) == (Priority.WARNING, ("C1", "S1"), ("stove",))
    assert facts.helps == (Help.MEASURE_BY_HAND, Help.CHECK_PROBE)
    assert [finding.sign for finding in facts.health] == [Sign.STUCK]


def test_doubtful_probe_over_an_empty_place_is_a_notice() -> None:
    facts = facts_of(planned(), "Wed 07:00", DOUBTED, fridge(Sign.SWAPPED, Sign.UNIT_MISTAKEN))
    assert (facts.priority, facts.helps) == (Priority.NOTICE, (Help.SWAP_BACK, Help.SET_PROBE))


def test_low_battery_alone_is_a_notice_even_over_food() -> None:
    assert set(all_told(base_ageing(), "Wed 13:10", fridge(Sign.BATTERY_LOW))) >= {BATTERY}
    facts = facts_of(base_ageing(), "Wed 13:10", BATTERY, fridge(Sign.BATTERY_LOW))
    assert (facts.priority, facts.helps) == (Priority.NOTICE, (Help.CHANGE_BATTERY,))
    assert BATTERY not in all_told(base_ageing(), "Wed 13:10", fridge(Sign.BATTERY_LOW, Sign.STUCK))


def test_doubt_is_raised_once_and_returns() -> None:
    state, told = step(base_ageing(), "Wed 13:10", fridge(Sign.STUCK))
    assert told == [("raised", DOUBTED)]
    state, told = step(state, "Wed 13:20", fridge(Sign.STUCK, Sign.NOISY))
    assert told == []
    assert step(state, "Wed 13:30", fridge())[1] == [("returned", DOUBTED)]


def test_probe_swapped_or_in_the_wrong_unit_is_helped_by_a_look_first_and_setting_it_then() -> None:
    finding = fridge(Sign.SWAPPED).health[0].model_copy(update={"hint": "or fahrenheit as celsius"})
    facts = facts_of(planned(), "Wed 07:00", DOUBTED, fridge().model_copy(update={"health": (finding,)}))
    assert facts.helps == (Help.SWAP_BACK, Help.SET_PROBE)
