"""Alarms of stores, probes, machines and held lots."""

from dataclasses import replace

from orchestrator.core.ids import AlarmId, EquipmentId, ProbeId
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.alarm import Help, Priority
from orchestrator.core.state import LotStatus
from tests.core.alarm_script import all_told, facts_of, lot_is, step, stopped
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing, begun, hardening, planned


def _air(place: str, *, outside: str | None = None, celsius: float = -12.4, slope: float | None = None) -> ProbeFact:
    return ProbeFact(
        probe=ProbeId(f"{place}-air"),
        equipment=EquipmentId(place),
        celsius=celsius,
        slope_c_per_min=slope,
        outside_since=at(outside) if outside else None,
    )


STORE = "store_warm:freezer"


def test_store_warm_is_raised_at_half_its_grace_escalated_at_its_end_and_returns_with_the_cold() -> None:
    state = hardening()
    warm = _air("freezer", outside="Fri 02:00", slope=0.2)
    assert all_told(state, "Fri 02:09", warm) == {}
    state, told = step(state, "Fri 02:10", warm)
    assert told == [("raised", STORE)]
    facts = facts_of(state, "Fri 02:10", STORE, warm)
    assert (facts.priority, facts.limit_at, facts.save_by) == (Priority.WARNING, at("Fri 02:20"), at("Fri 02:20"))
    assert (facts.lots, facts.orders) == (("B1", "S1"), ("SAT-STALL", "SUN-CAFE"))
    assert (facts.celsius, facts.limit_c) == (-12.4, -15.0)
    assert facts.helps == (Help.CHECK_DOOR, Help.MEASURE_BY_HAND, Help.MOVE_LOTS)
    # Another temperature alone is not told again, nor is a door that was shut.
    colder = _air("freezer", outside="Fri 02:00", celsius=-14.0, slope=-0.2)
    assert step(state, "Fri 02:15", colder)[1] == []
    state, told = step(state, "Fri 02:20", warm)
    assert told == [("escalated", STORE)]
    assert state.alarms[AlarmId(STORE)].facts.priority is Priority.CRITICAL
    assert step(state, "Fri 02:40", _air("freezer", celsius=-18.0))[1] == [("returned", STORE)]


def test_store_on_its_way_back_is_not_warned_of_before_its_grace_is_over() -> None:
    coming = _air("freezer", outside="Fri 02:00", celsius=-14.0, slope=-0.4)
    assert all_told(hardening(), "Fri 02:19", coming) == {}
    assert all_told(hardening(), "Fri 02:20", coming) == {STORE: True}


def test_store_too_cold_names_its_lower_limit() -> None:
    cold = _air("fridge", outside="Wed 13:00", celsius=-1.2, slope=-0.1)
    facts = facts_of(base_ageing(), "Wed 13:10", "store_warm:fridge", cold)
    assert (facts.celsius, facts.limit_c, facts.missed, facts.too_cold) == (-1.2, 0.0, False, True)
    warm = _air("fridge", outside="Wed 13:00", celsius=9.0, slope=0.1)
    assert not facts_of(base_ageing(), "Wed 13:10", "store_warm:fridge", warm).too_cold


def test_probe_silent_is_raised_and_returns_when_heard() -> None:
    state = begun(planned(), "C1.cook", "Wed 08:00")
    probe, place = ProbeId("hob-1-core"), EquipmentId("hob-1")
    silent = ProbeFact(probe=probe, equipment=place, celsius=61.0, silent_since=at("Wed 08:10"))
    state, told = step(state, "Wed 08:20", silent)
    assert told == [("raised", "probe_silent:hob-1-core")]
    facts = facts_of(state, "Wed 08:20", "probe_silent:hob-1-core", silent)
    assert (facts.task, facts.since, facts.priority) == ("C1.cook", at("Wed 08:10"), Priority.WARNING)
    assert facts.helps == (Help.MEASURE_BY_HAND,)
    heard = ProbeFact(probe=probe, equipment=place, celsius=70.0)
    assert step(state, "Wed 08:22", heard)[1] == [("returned", "probe_silent:hob-1-core")]


def test_machine_stopped_is_raised_only_while_it_is_wanted() -> None:
    state = stopped(base_ageing(), "churn", "Thu 07:00", "Thu 09:00")
    assert "machine_stopped:churn" not in all_told(state, "Thu 07:00")
    state = stopped(base_ageing(), "churn", "Thu 07:00", "Thu 09:30")
    facts = facts_of(state, "Thu 07:00", "machine_stopped:churn")
    assert (facts.lots, facts.orders, facts.expected_at) == (("B1",), ("SAT-STALL",), at("Thu 09:30"))
    assert (facts.limit_at, facts.save_by) == (at("Sat 10:15"), at("Sat 10:15"))
    unknown = facts_of(stopped(base_ageing(), "churn", "Thu 07:00", None), "Thu 07:00", "machine_stopped:churn")
    assert unknown.orders == ("SAT-STALL", "SUN-CAFE")
    state, _ = step(state, "Thu 07:00")
    assert ("returned", "machine_stopped:churn") in step(replace(state, machines={}), "Thu 07:30")[1]


def test_lot_on_hold_is_raised_and_returns_with_the_decision() -> None:
    state = lot_is(base_ageing(), "C1", LotStatus.ON_HOLD, "Wed 12:00")
    state, told = step(state, "Wed 12:00")
    assert told == [("raised", "lot_on_hold:C1")]
    facts = facts_of(state, "Wed 12:00", "lot_on_hold:C1")
    assert (facts.title, facts.orders, facts.equipment) == ("Custard base", ("SAT-STALL",), "fridge")
    assert (facts.reason, facts.helps) == ("too warm", (Help.DECIDE_LOT, Help.KEEP_COOLING))
    _, told = step(lot_is(state, "C1", LotStatus.FREE, "Wed 12:10"), "Wed 12:10")
    assert told == [("returned", "lot_on_hold:C1")]


def test_store_warm_before_the_first_plan_is_told_all_the_same() -> None:
    warm = _air("freezer", outside="Wed 05:00", slope=0.2)
    assert all_told(replace(planned(), plan=None), "Wed 06:00", warm) == {STORE: True}
