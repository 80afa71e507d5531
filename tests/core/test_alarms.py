"""Each kind of alarm: raised before its miss where there is one, escalated at it, returned when cured."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

import pytest

from orchestrator.core.alarms import alarm_events, conditions
from orchestrator.core.ids import AlarmId, CrewId, EquipmentId, LotCode, ProbeId, TaskId
from orchestrator.core.models import Plan, ProbeFact
from orchestrator.core.models.alarm import AlarmFacts, AlarmStatus, Help, Priority
from orchestrator.core.state import LotRecord, LotStatus, MachineStop, State
from tests.fakes.kitchens import at
from tests.fakes.states import COOK, base_ageing, begun, done, hardening, planned, seen, with_events


def _all(state: State, now: str, *facts: ProbeFact) -> dict[str, bool]:
    found = conditions(state, {f.probe: f for f in facts}, at(now))
    return {str(alarm): f.missed for alarm, f in found.items()}


def _facts(state: State, now: str, alarm: str, *facts: ProbeFact) -> AlarmFacts:
    return conditions(state, {f.probe: f for f in facts}, at(now))[AlarmId(alarm)]


def _step(state: State, now: str, *facts: ProbeFact) -> tuple[State, list[tuple[str, str]]]:
    by_probe: Mapping[ProbeId, ProbeFact] = {f.probe: f for f in facts}
    events = alarm_events(state, by_probe, at(now))
    told = [(e.kind.removeprefix("alarm_"), str(e.alarm)) for e in events]  # type: ignore[union-attr]
    return with_events(state, events, at(now)), told


def _machine(state: State, machine: str, since: str, until: str | None) -> State:
    stop = MachineStop(since=at(since), until=at(until) if until else None, reason="belt slips", by=COOK)
    return replace(state, machines={EquipmentId(machine): stop})


def _lot(state: State, lot: str, status: LotStatus, since: str) -> State:
    by = None if status is LotStatus.ON_HOLD else CrewId("manager")
    return replace(state, lots={LotCode(lot): LotRecord(status, at(since), "too warm", by)})


def _ageing_until_saturday() -> State:
    """B1 was not churned: C1 may age until Saturday 10:15. The plan has the churn at 09:50 that day, and no sorbet."""
    state = base_ageing()
    assert state.plan is not None
    late = {
        "B1.churn": (at("Sat 09:50"), at("Sat 10:20")),
        "C1.age.B1": (at("Wed 10:15"), at("Sat 09:50")),
    }
    tasks = [
        t.model_copy(update={"start": late[t.id][0], "end": late[t.id][1], "spans": ()}) if t.id in late else t
        for t in state.plan.tasks
        if t.lot != "S1" and t.order != "SUN-CAFE"
    ]
    return replace(state, plan=state.plan.model_copy(update={"tasks": tuple(tasks)}))


WINDOW = "window_closing:B1.churn"


def _window(state: State, now: str) -> tuple[State, list[tuple[str, str]]]:
    state, told = _step(state, now)
    return state, [t for t in told if "B1.churn" in t[1]]


def test_window_is_raised_a_lead_time_before_it_closes_and_missed_after_it() -> None:
    state = _ageing_until_saturday()
    state, told = _window(state, "Sat 09:14")
    assert told == []
    state, told = _window(state, "Sat 09:15")
    assert told == [("raised", WINDOW)]
    state, told = _window(state, "Sat 10:15")
    assert told == []
    state, told = _window(state, "Sat 10:16")
    assert told == [("escalated", WINDOW)]


def test_window_started_in_time_returns() -> None:
    state, _ = _window(_ageing_until_saturday(), "Sat 09:20")
    _, told = _window(begun(state, "B1.churn", "Sat 09:50"), "Sat 09:50")
    assert told == [("returned", WINDOW)]


def test_window_facts_name_order_lots_limit_and_what_helps() -> None:
    facts = _facts(_ageing_until_saturday(), "Sat 09:20", WINDOW)
    assert (facts.priority, facts.missed, facts.task, facts.title) == (
        Priority.WARNING,
        False,
        "B1.churn",
        "Churn basil custard",
    )
    assert (facts.lot, facts.lots, facts.orders) == ("B1", ("C1", "B1"), ("SAT-STALL",))
    assert (facts.since, facts.limit_at, facts.expected_at) == (at("Wed 10:15"), at("Sat 10:15"), at("Sat 09:50"))
    assert (facts.stations, facts.equipment, facts.reason) == (("stove",), "churn", "safety")
    assert facts.helps == (Help.START_NOW,)
    assert facts.save_by == at("Sat 10:15")


def test_window_missed_by_a_safety_maximum_stays_until_the_lot_is_decided() -> None:
    state, _ = _window(_ageing_until_saturday(), "Sat 10:16")
    assert _facts(state, "Sat 10:16", WINDOW).helps == (Help.DECIDE_LOT,)
    state = begun(state, "B1.churn", "Sat 10:20", reason="forgotten")
    assert _window(state, "Sat 10:20")[1] == []
    state = seen(state, WINDOW, at("Sat 10:21"))
    assert _window(state, "Sat 10:22")[1] == []
    assert _window(_lot(state, "C1", LotStatus.ON_HOLD, "Sat 10:22"), "Sat 10:22")[1] == []
    state, told = _window(_lot(state, "C1", LotStatus.FREE, "Sat 10:23"), "Sat 10:23")
    assert told == [("returned", WINDOW)]
    assert _window(state, "Sat 10:30")[1] == []


def test_window_missed_by_safety_stays_when_a_new_plan_drops_the_task() -> None:
    state, _ = _window(_ageing_until_saturday(), "Sat 10:16")
    state = _lot(state, "C1", LotStatus.ON_HOLD, "Sat 10:16")
    assert state.plan is not None
    kept = tuple(t for t in state.plan.tasks if t.id not in {"B1.churn", "B1.harden.SAT-STALL"})
    state = replace(state, plan=state.plan.model_copy(update={"tasks": kept}))
    assert _window(state, "Sat 10:17")[1] == []


def _quality_missed() -> State:
    """S1 may rest until Friday 12:00 (quality); nobody has churned it."""
    state, _ = _step(base_ageing(), "Fri 12:01")
    assert state.alarms[AlarmId("window_closing:S1.churn")].facts.missed
    return state


def test_window_missed_by_quality_returns_once_seen_and_started_by_a_person_with_a_reason() -> None:
    state = begun(_quality_missed(), "S1.churn", "Fri 12:05", reason="tasted, still good")
    alarm = "window_closing:S1.churn"
    assert ("returned", alarm) not in _step(state, "Fri 12:05")[1]
    state, told = _step(seen(state, alarm, at("Fri 12:06")), "Fri 12:06")
    assert ("returned", alarm) in told
    assert alarm not in _all(state, "Fri 12:07")


def test_window_missed_by_quality_stays_when_started_without_a_reason() -> None:
    alarm = "window_closing:S1.churn"
    state = seen(begun(_quality_missed(), "S1.churn", "Fri 12:05"), alarm, at("Fri 12:06"))
    assert ("returned", alarm) not in _step(state, "Fri 12:06")[1]


def test_window_missed_by_the_live_plan_is_raised_at_once() -> None:
    state = _machine(base_ageing(), "churn", "Thu 08:00", "Fri 13:00")
    alarm = "window_closing:S1.churn"
    assert _all(state, "Thu 08:05")[alarm] is False
    facts = _facts(state, "Thu 08:05", alarm)
    # B1 first, 13:00 to 13:30, then 20 minutes of cleaning.
    assert (facts.limit_at, facts.expected_at) == (at("Fri 12:00"), at("Fri 13:50"))
    assert facts.helps == (Help.REPAIR_BY, Help.CALL_HANDS)
    assert facts.save_by is None
    assert alarm not in _all(replace(state, machines={}), "Thu 08:06")


def test_steps_that_follow_each_other_have_two_minutes_between_the_taps() -> None:
    state = planned()
    assert state.plan is not None
    chill = state.plan.task(TaskId("C1.chill"))
    joined = chill.model_copy(update={"links": (chill.links[0].model_copy(update={"most": 0}),)})
    tasks = tuple(joined if t.id == "C1.chill" else t for t in state.plan.tasks)
    state = done(
        replace(state, plan=state.plan.model_copy(update={"tasks": tasks})), "C1.cook", "Wed 08:00", "Wed 08:40"
    )
    assert _all(begun(state, "C1.chill", "Wed 08:42"), "Wed 08:43") == {}
    assert _all(state, "Wed 08:43")["window_closing:C1.chill"] is True


def test_too_short_planned_openly_is_raised_and_started_so_is_missed() -> None:
    state = done(done(planned(), "C1.cook", "Wed 20:00", "Wed 20:40"), "C1.chill", "Wed 20:45", "Wed 22:30")
    named = {"task": "B1.churn", "after": "C1.age.B1", "window": "quality", "minutes": 90, "side": "too early"}
    assert state.plan is not None
    plan = Plan.model_validate({**state.plan.model_dump(), "breaks": [{**named, "reason": "order due"}]})
    state = replace(state, plan=plan)
    alarm = "too_short:B1.churn"
    state, told = _step(state, "Wed 23:00")
    assert ("raised", alarm) in told
    facts = _facts(state, "Wed 23:00", alarm)
    assert (facts.limit_at, facts.expected_at, facts.helps) == (
        at("Thu 10:30"),
        at("Thu 09:00"),
        (Help.WAIT_UNTIL_OPEN,),
    )
    started, told = _step(begun(state, "B1.churn", "Thu 09:00", reason="stall opens early"), "Thu 09:00")
    assert ("escalated", alarm) in told
    cured, told = _step(begun(state, "B1.churn", "Thu 10:30"), "Thu 10:30")
    assert ("returned", alarm) in told
    # Ageing is a safety window here: only a decision about the lot ends it.
    assert ("returned", alarm) not in _step(seen(started, alarm, at("Thu 09:05")), "Thu 09:05")[1]
    assert ("returned", alarm) in _step(_lot(started, "C1", LotStatus.FREE, "Thu 09:10"), "Thu 09:10")[1]
    assert cured.alarms[AlarmId(alarm)].status is AlarmStatus.RETURNED_UNACKNOWLEDGED


ORDER = "order_late:SAT-STALL"


def test_order_late_by_the_live_plan_is_raised_at_once_missed_at_due_and_returns_when_handed_over() -> None:
    state = hardening()
    assert ORDER not in _all(state, "Sat 10:29")
    # 10:31 + 20 + 10 minutes is a minute past due.
    state, told = _step(state, "Sat 10:31")
    assert told == [("raised", "task_late:SAT-STALL.B.temper"), ("raised", ORDER)]
    facts = _facts(state, "Sat 10:31", ORDER)
    assert (facts.limit_at, facts.expected_at, facts.task) == (at("Sat 11:00"), at("Sat 11:01"), "SAT-STALL.B.temper")
    assert facts.helps == (Help.START_NOW, Help.CALL_HANDS, Help.TELL_CUSTOMER)
    assert facts.stations == ("counter",)
    state, told = _step(state, "Sat 11:01")
    assert told == [("escalated", ORDER)]
    state = done(
        done(state, "SAT-STALL.B.temper", "Sat 11:02", "Sat 11:20"), "SAT-STALL.B.hand-over", "Sat 11:20", "Sat 11:30"
    )
    _, told = _step(state, "Sat 11:30")
    assert told == [("returned", "task_late:SAT-STALL.B.temper"), ("returned", ORDER)]


def test_order_is_late_when_hardening_cannot_be_over_in_time() -> None:
    state = done(base_ageing(), "B1.churn", "Sat 06:30", "Sat 07:00")
    facts = _facts(state, "Sat 07:00", ORDER)
    # Four hours of hardening, then 20 + 10 minutes.
    assert (facts.expected_at, facts.missed, facts.reason) == (at("Sat 11:30"), False, "Harden basil custard")
    assert facts.save_by is None


def test_order_alarm_says_until_when_churning_still_saves_it() -> None:
    state = _ageing_until_saturday()
    facts = _facts(state, "Fri 20:00", ORDER)
    assert facts.expected_at == at("Sat 14:50")
    # Due 11:00 - 30 min - 4 h hardening - 30 min churning, but the cook comes at 06:00.
    assert facts.save_by == at("Sat 06:00")


def test_task_late_ten_minutes_after_its_planned_start_only_if_it_could_begin() -> None:
    state = planned()
    state, told = _step(state, "Wed 08:09")
    assert told == []
    state, told = _step(state, "Wed 08:10")
    assert told == [("raised", "task_late:C1.cook")]
    facts = _facts(state, "Wed 08:10", "task_late:C1.cook")
    assert (facts.priority, facts.since, facts.limit_at) == (Priority.NOTICE, at("Wed 08:00"), at("Wed 08:10"))
    assert facts.save_by is not None
    assert facts.save_by > at("Wed 08:10")
    # The chill is late too, but cannot begin: no second alarm.
    assert _all(state, "Wed 09:00") == {"task_late:C1.cook": False}
    _, told = _step(begun(state, "C1.cook", "Wed 09:00"), "Wed 09:00")
    assert told == [("returned", "task_late:C1.cook")]


def test_window_alarm_takes_the_place_of_the_task_late_alarm() -> None:
    state = _ageing_until_saturday()
    found = _all(state, "Sat 10:05")
    assert WINDOW in found
    assert "task_late:B1.churn" not in found


def _air(place: str, *, outside: str | None = None, silent: str | None = None, celsius: float = -12.4) -> ProbeFact:
    return ProbeFact(
        probe=ProbeId(f"{place}-air"),
        equipment=EquipmentId(place),
        celsius=celsius,
        outside_since=at(outside) if outside else None,
        silent_since=at(silent) if silent else None,
    )


def test_store_warm_longer_than_its_grace_is_raised_and_returns_with_the_cold() -> None:
    state = hardening()
    warm = _air("freezer", outside="Fri 02:00")
    assert _all(state, "Fri 02:19", warm) == {}
    state, told = _step(state, "Fri 02:20", warm)
    assert told == [("raised", "store_warm:freezer")]
    facts = _facts(state, "Fri 02:20", "store_warm:freezer", warm)
    assert (facts.lots, facts.orders, facts.celsius, facts.limit_c) == (
        ("B1", "S1"),
        ("SAT-STALL", "SUN-CAFE"),
        -12.4,
        -15.0,
    )
    assert facts.helps == (Help.CHECK_DOOR, Help.MEASURE_BY_HAND, Help.MOVE_LOTS)
    # Another temperature alone is not told again.
    assert _step(state, "Fri 02:30", _air("freezer", outside="Fri 02:00", celsius=-10.0))[1] == []
    assert _step(state, "Fri 02:40", _air("freezer", celsius=-18.0))[1] == [("returned", "store_warm:freezer")]


def test_probe_silent_is_raised_and_returns_when_heard() -> None:
    state = begun(planned(), "C1.cook", "Wed 08:00")
    probe, place = ProbeId("hob-1-core"), EquipmentId("hob-1")
    silent = ProbeFact(probe=probe, equipment=place, celsius=61.0, silent_since=at("Wed 08:10"))
    state, told = _step(state, "Wed 08:20", silent)
    assert told == [("raised", "probe_silent:hob-1-core")]
    facts = _facts(state, "Wed 08:20", "probe_silent:hob-1-core", silent)
    assert (facts.task, facts.since, facts.priority) == ("C1.cook", at("Wed 08:10"), Priority.WARNING)
    assert facts.helps == (Help.MEASURE_BY_HAND,)
    heard = ProbeFact(probe=probe, equipment=place, celsius=70.0)
    assert _step(state, "Wed 08:22", heard)[1] == [("returned", "probe_silent:hob-1-core")]


def test_machine_stopped_is_raised_only_while_it_is_wanted() -> None:
    state = _machine(base_ageing(), "churn", "Thu 07:00", "Thu 09:00")
    assert "machine_stopped:churn" not in _all(state, "Thu 07:00")
    state = _machine(base_ageing(), "churn", "Thu 07:00", "Thu 09:30")
    facts = _facts(state, "Thu 07:00", "machine_stopped:churn")
    assert (facts.lots, facts.orders, facts.expected_at) == (("B1",), ("SAT-STALL",), at("Thu 09:30"))
    assert (facts.limit_at, facts.save_by) == (at("Sat 10:15"), at("Sat 10:15"))
    unknown = _facts(_machine(base_ageing(), "churn", "Thu 07:00", None), "Thu 07:00", "machine_stopped:churn")
    assert unknown.orders == ("SAT-STALL", "SUN-CAFE")
    state, _ = _step(state, "Thu 07:00")
    assert ("returned", "machine_stopped:churn") in _step(replace(state, machines={}), "Thu 07:30")[1]


def test_lot_on_hold_is_raised_and_returns_with_the_decision() -> None:
    state = _lot(base_ageing(), "C1", LotStatus.ON_HOLD, "Wed 12:00")
    state, told = _step(state, "Wed 12:00")
    assert told == [("raised", "lot_on_hold:C1")]
    facts = _facts(state, "Wed 12:00", "lot_on_hold:C1")
    assert (facts.title, facts.orders, facts.equipment) == ("Custard base", ("SAT-STALL",), "fridge")
    assert (facts.reason, facts.helps) == ("too warm", (Help.DECIDE_LOT,))
    _, told = _step(_lot(state, "C1", LotStatus.FREE, "Wed 12:10"), "Wed 12:10")
    assert told == [("returned", "lot_on_hold:C1")]


CHILL = "target_missed:C1.chill"


def _chilling(**facts: object) -> ProbeFact:
    base = {"probe": "ice-bath-core", "equipment": "ice-bath", "task": "C1.chill", "celsius": 30.0}
    return ProbeFact.model_validate({**base, **facts})


def _chill_in_hand() -> State:
    return begun(done(planned(), "C1.cook", "Wed 08:00", "Wed 08:40"), "C1.chill", "Wed 08:45")


@pytest.mark.parametrize(
    ("facts", "missed", "reason"),
    [
        ({"cooling": "on course"}, None, ""),
        ({"cooling": "will be late"}, False, "will be late"),
        ({"cooling": "first leg missed"}, True, "first leg missed"),
        ({"cooling": "second leg missed"}, True, "second leg missed"),
        ({"arrival_from": at("Wed 13:00")}, False, "longest"),
        ({"arrival_from": at("Wed 12:45")}, None, ""),
    ],
)
def test_target_of_a_chill_warns_before_and_escalates_at_the_miss(
    facts: dict[str, object], missed: bool | None, reason: str
) -> None:
    state, fact = _chill_in_hand(), _chilling(**facts)
    expected = {} if missed is None else {CHILL: missed}
    assert {a: m for a, m in _all(state, "Wed 10:00", fact).items() if a == CHILL} == expected
    if missed is not None:
        assert _facts(state, "Wed 10:00", CHILL, fact).reason == reason


def test_target_escalates_from_warning_to_miss_and_returns_when_met() -> None:
    state, told = _step(_chill_in_hand(), "Wed 10:00", _chilling(cooling="will be late"))
    assert told == [("raised", CHILL)]
    missed, told = _step(state, "Wed 10:45", _chilling(cooling="first leg missed"))
    assert ("escalated", CHILL) in told
    assert missed.alarms[AlarmId(CHILL)].facts.priority is Priority.CRITICAL
    _, told = _step(state, "Wed 10:45", _chilling(cooling="met", met_at=at("Wed 10:44")))
    assert ("returned", CHILL) in told


def test_target_not_met_at_the_longest_end_is_missed() -> None:
    # Started 08:45, at most four hours.
    assert CHILL not in _all(_chill_in_hand(), "Wed 12:44", _chilling())
    assert _all(_chill_in_hand(), "Wed 12:45", _chilling())[CHILL] is True
    assert CHILL not in _all(_chill_in_hand(), "Wed 12:45", _chilling(met_at=at("Wed 10:40")))


def test_target_ceiling_broken_is_missed_with_its_limit() -> None:
    state = begun(planned(), "C1.cook", "Wed 08:00")
    fact = ProbeFact.model_validate(
        {
            "probe": "hob-1-core",
            "equipment": "hob-1",
            "task": "C1.cook",
            "celsius": 86.2,
            "ceiling_broken_at": at("Wed 08:30"),
        }
    )
    facts = _facts(state, "Wed 08:31", "target_missed:C1.cook", fact)
    assert (facts.missed, facts.limit_c, facts.since, facts.reason) == (True, 85.0, at("Wed 08:30"), "ceiling")


def test_conditions_on_a_day_as_planned_are_none() -> None:
    for state, now in ((planned(), "Wed 07:00"), (base_ageing(), "Thu 08:00"), (hardening(), "Sat 10:00")):
        assert _all(state, now) == {}


def test_conditions_without_a_plan_are_none() -> None:
    assert conditions(State(), {}, at("Wed 08:00")) == {}
    assert alarm_events(replace(planned(), plan=None), {}, at("Wed 08:00") + timedelta(days=9)) == ()
