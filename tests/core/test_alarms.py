"""Alarms of windows, orders and tasks: before the miss, at it, and when it is cured."""

from dataclasses import replace
from datetime import timedelta

from orchestrator.core.alarms import alarm_events, conditions
from orchestrator.core.ids import AlarmId, EquipmentId, TaskId
from orchestrator.core.models import Plan, WindowClass
from orchestrator.core.models.alarm import AlarmStatus, Help, Priority
from orchestrator.core.state import LotStatus, MachineStop, State
from tests.core.alarm_script import all_told, facts_of, lot_is, step, stopped
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing, begun, done, hardening, planned, record, seen


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
    state, told = step(state, now)
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
    facts = facts_of(_ageing_until_saturday(), "Sat 09:20", WINDOW)
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
    assert facts_of(state, "Sat 10:16", WINDOW).helps == (Help.DECIDE_LOT,)
    state = begun(state, "B1.churn", "Sat 10:20", reason="forgotten")
    assert _window(state, "Sat 10:20")[1] == []
    state = seen(state, WINDOW, at("Sat 10:21"))
    assert _window(state, "Sat 10:22")[1] == []
    assert _window(lot_is(state, "C1", LotStatus.ON_HOLD, "Sat 10:22"), "Sat 10:22")[1] == []
    state, told = _window(lot_is(state, "C1", LotStatus.FREE, "Sat 10:23"), "Sat 10:23")
    assert told == [("returned", WINDOW)]
    assert _window(state, "Sat 10:30")[1] == []


def test_window_missed_by_safety_stays_when_a_new_plan_drops_the_task() -> None:
    state, _ = _window(_ageing_until_saturday(), "Sat 10:16")
    state = lot_is(state, "C1", LotStatus.ON_HOLD, "Sat 10:16")
    assert state.plan is not None
    kept = tuple(t for t in state.plan.tasks if t.id not in {"B1.churn", "B1.harden.SAT-STALL"})
    state = replace(state, plan=state.plan.model_copy(update={"tasks": kept}))
    assert _window(state, "Sat 10:17")[1] == []


def _quality_missed() -> State:
    """S1 may rest until Friday 12:00 (quality); nobody has churned it."""
    state, _ = step(base_ageing(), "Fri 12:01")
    assert state.alarms[AlarmId("window_closing:S1.churn")].facts.missed
    return state


def test_window_missed_by_quality_returns_once_seen_and_started_by_a_person_with_a_reason() -> None:
    state = begun(_quality_missed(), "S1.churn", "Fri 12:05", reason="tasted, still good")
    alarm = "window_closing:S1.churn"
    assert ("returned", alarm) not in step(state, "Fri 12:05")[1]
    state, told = step(seen(state, alarm, at("Fri 12:06")), "Fri 12:06")
    assert ("returned", alarm) in told
    assert alarm not in all_told(state, "Fri 12:07")


def test_window_missed_by_quality_stays_when_started_without_a_reason() -> None:
    alarm = "window_closing:S1.churn"
    state = seen(begun(_quality_missed(), "S1.churn", "Fri 12:05"), alarm, at("Fri 12:06"))
    state, told = step(state, "Fri 12:06")
    assert ("returned", alarm) not in told
    assert state.alarms[AlarmId(alarm)].facts.missed


def test_window_missed_by_the_live_plan_is_raised_at_once() -> None:
    state = stopped(base_ageing(), "churn", "Thu 08:00", "Fri 13:00")
    alarm = "window_closing:S1.churn"
    assert all_told(state, "Thu 08:05")[alarm] is False
    facts = facts_of(state, "Thu 08:05", alarm)
    # B1 first, 13:00 to 13:30, then 20 minutes of cleaning.
    assert (facts.limit_at, facts.expected_at) == (at("Fri 12:00"), at("Fri 13:50"))
    assert facts.helps == (Help.REPAIR_BY, Help.CALL_HANDS)
    assert facts.save_by is None
    assert alarm not in all_told(replace(state, machines={}), "Thu 08:06")


def test_steps_that_follow_each_other_have_two_minutes_between_the_taps() -> None:
    state = planned()
    assert state.plan is not None
    chill = state.plan.task(TaskId("C1.chill"))
    joined = chill.model_copy(update={"links": (chill.links[0].model_copy(update={"most": 0}),)})
    tasks = tuple(joined if t.id == "C1.chill" else t for t in state.plan.tasks)
    state = done(
        replace(state, plan=state.plan.model_copy(update={"tasks": tasks})), "C1.cook", "Wed 08:00", "Wed 08:40"
    )
    assert all_told(begun(state, "C1.chill", "Wed 08:42"), "Wed 08:43") == {}
    assert all_told(state, "Wed 08:43")["window_closing:C1.chill"] is True


def test_too_short_planned_openly_is_raised_and_started_so_is_missed() -> None:
    state = done(done(planned(), "C1.cook", "Wed 20:00", "Wed 20:40"), "C1.chill", "Wed 20:45", "Wed 22:30")
    named = {"task": "B1.churn", "after": "C1.age.B1", "window": "quality", "minutes": 90, "side": "too early"}
    assert state.plan is not None
    plan = Plan.model_validate({**state.plan.model_dump(), "breaks": [{**named, "reason": "order due"}]})
    state = replace(state, plan=plan)
    alarm = "too_short:B1.churn"
    state, told = step(state, "Wed 23:00")
    assert ("raised", alarm) in told
    facts = facts_of(state, "Wed 23:00", alarm)
    assert (facts.limit_at, facts.expected_at, facts.helps) == (
        at("Thu 10:30"),
        at("Thu 09:00"),
        (Help.WAIT_UNTIL_OPEN,),
    )
    started, told = step(begun(state, "B1.churn", "Thu 09:00", reason="stall opens early"), "Thu 09:00")
    assert ("escalated", alarm) in told
    cured, told = step(begun(state, "B1.churn", "Thu 10:30"), "Thu 10:30")
    assert ("returned", alarm) in told
    # Ageing is a safety window here: only a decision about the lot ends it.
    assert ("returned", alarm) not in step(seen(started, alarm, at("Thu 09:05")), "Thu 09:05")[1]
    assert ("returned", alarm) in step(lot_is(started, "C1", LotStatus.FREE, "Thu 09:10"), "Thu 09:10")[1]
    assert cured.alarms[AlarmId(alarm)].status is AlarmStatus.RETURNED_UNACKNOWLEDGED


ORDER = "order_late:SAT-STALL"


def test_order_late_by_the_live_plan_is_raised_at_once_missed_at_due_and_returns_when_handed_over() -> None:
    state = hardening()
    assert ORDER not in all_told(state, "Sat 10:29")
    # 10:31 + 20 + 10 minutes is a minute past due.
    state, told = step(state, "Sat 10:31")
    # Nobody has written down here that the churn took the base, so that by the books it stands about past its use-by.
    assert told == [("raised", "task_late:SAT-STALL.B.temper"), ("raised", ORDER), ("raised", "past_use_by:nowhere")]
    facts = facts_of(state, "Sat 10:31", ORDER)
    assert (facts.limit_at, facts.expected_at, facts.task) == (at("Sat 11:00"), at("Sat 11:01"), "SAT-STALL.B.temper")
    assert facts.helps == (Help.START_NOW, Help.CALL_HANDS, Help.TELL_CUSTOMER)
    assert facts.stations == ("counter",)
    state, told = step(state, "Sat 11:01")
    assert told == [("escalated", ORDER)]
    state = done(
        done(state, "SAT-STALL.B.temper", "Sat 11:02", "Sat 11:20"), "SAT-STALL.B.hand-over", "Sat 11:20", "Sat 11:30"
    )
    _, told = step(state, "Sat 11:30")
    assert told == [("returned", "task_late:SAT-STALL.B.temper"), ("returned", ORDER)]


def test_order_is_late_when_hardening_cannot_be_over_in_time() -> None:
    state = done(base_ageing(), "B1.churn", "Sat 06:30", "Sat 07:00")
    facts = facts_of(state, "Sat 07:00", ORDER)
    # Four hours of hardening, then 20 + 10 minutes.
    assert (facts.expected_at, facts.missed, facts.reason) == (at("Sat 11:30"), False, "Harden basil custard")
    assert facts.save_by is None


def test_order_alarm_says_until_when_churning_still_saves_it() -> None:
    state = _ageing_until_saturday()
    facts = facts_of(state, "Fri 20:00", ORDER)
    assert facts.expected_at == at("Sat 14:50")
    # Due 11:00 - 30 min - 4 h hardening - 30 min churning, but the cook comes at 06:00.
    assert facts.save_by == at("Sat 06:00")


def test_task_late_ten_minutes_after_its_planned_start_only_if_it_could_begin() -> None:
    state = planned()
    state, told = step(state, "Wed 08:09")
    assert told == []
    state, told = step(state, "Wed 08:10")
    assert told == [("raised", "task_late:C1.cook")]
    facts = facts_of(state, "Wed 08:10", "task_late:C1.cook")
    assert (facts.priority, facts.since, facts.limit_at) == (Priority.NOTICE, at("Wed 08:00"), at("Wed 08:10"))
    assert facts.save_by is not None
    assert facts.save_by > at("Wed 08:10")
    # The chill is late too, but cannot begin: no second alarm.
    assert all_told(state, "Wed 09:00") == {"task_late:C1.cook": False}
    _, told = step(begun(state, "C1.cook", "Wed 09:00"), "Wed 09:00")
    assert told == [("returned", "task_late:C1.cook")]


def test_window_alarm_takes_the_place_of_the_task_late_alarm() -> None:
    state = _ageing_until_saturday()
    found = all_told(state, "Sat 10:05")
    assert WINDOW in found
    assert "task_late:B1.churn" not in found


def test_conditions_on_a_day_as_planned_are_none() -> None:
    for state, now in ((planned(), "Wed 07:00"), (base_ageing(), "Thu 08:00"), (hardening(), "Sat 10:00")):
        assert all_told(state, now) == {}


def test_conditions_without_a_plan_are_none() -> None:
    assert conditions(State(), {}, at("Wed 08:00")) == {}
    assert alarm_events(replace(planned(), plan=None), {}, at("Wed 08:00") + timedelta(days=9)) == ()


def test_step_on_its_own_longer_than_its_longest_is_missed_until_it_is_taken_out_or_given_time() -> None:
    # Tempering: hands for 5 minutes, then alone; usually 20 minutes, at most 30: half-way between, nobody has come.
    state, alarm = begun(hardening(), "SAT-STALL.B.temper", "Sat 10:20"), "window_closing:SAT-STALL.B.temper"
    assert alarm not in all_told(state, "Sat 10:45")
    state, told = step(state, "Sat 10:46")
    assert ("raised", alarm) in told
    assert facts_of(state, "Sat 10:50", alarm).reason == "past usual"
    assert all_told(state, "Sat 10:50")[alarm] is False
    state, told = step(state, "Sat 10:51")
    assert ("escalated", alarm) in told
    temper = TaskId("SAT-STALL.B.temper")
    longer = replace(state, tasks={**state.tasks, temper: replace(state.tasks[temper], extended_min=10)})
    assert ("returned", alarm) in step(longer, "Sat 10:52")[1]
    assert ("returned", alarm) in step(done(state, temper, "Sat 10:20", "Sat 10:52"), "Sat 10:52")[1]


def test_alarm_of_a_step_in_hand_names_the_machine_it_is_on_not_the_one_it_was_planned_on() -> None:
    state, temper = begun(hardening(), "SAT-STALL.B.temper", "Sat 10:20"), TaskId("SAT-STALL.B.temper")
    state = record(state, temper, replace(state.tasks[temper], equipment=EquipmentId("counter-2")))
    told = conditions(state, {}, at("Sat 10:51"))[AlarmId("window_closing:SAT-STALL.B.temper")]
    assert (told.reason, told.equipment) == ("longest", "counter-2")


def test_lot_that_nobody_takes_is_warned_of_before_its_keeping_time_ends() -> None:
    state = base_ageing()
    assert state.plan is not None
    kept = tuple(t for t in state.plan.tasks if t.lot != "B1" and t.order != "SAT-STALL")
    state = replace(state, plan=state.plan.model_copy(update={"tasks": kept, "pegs": ()}))
    alarm = "window_closing:C1.age.B1"
    assert alarm not in all_told(state, "Sat 09:14")
    assert all_told(state, "Sat 09:15")[alarm] is False
    assert all_told(state, "Sat 10:16")[alarm] is True
    assert alarm not in all_told(lot_is(state, "C1", LotStatus.DISCARDED, "Sat 10:17"), "Sat 10:17")


def _quality_until_saturday() -> State:
    """As above, but that the base ages too long is a matter of quality."""
    state = _ageing_until_saturday()
    assert state.plan is not None
    tasks = [
        t.model_copy(update={"stay": t.stay.model_copy(update={"window": WindowClass.QUALITY})})
        if t.id == "C1.age.B1" and t.stay is not None
        else t
        for t in state.plan.tasks
    ]
    return replace(state, plan=state.plan.model_copy(update={"tasks": tuple(tasks)}))


def test_quality_window_of_a_step_in_normal_progress_is_not_told_until_its_planned_start_has_passed() -> None:
    state = _quality_until_saturday()
    state, told = _window(state, "Sat 09:54")
    assert told == []
    state, told = _window(state, "Sat 09:55")
    assert told == [("raised", WINDOW)]
    state, told = _window(state, "Sat 10:16")
    assert told == [("escalated", WINDOW)]


def test_machine_stopped_stands_until_it_is_back_although_a_new_plan_goes_round_it() -> None:
    stopped_until = MachineStop(at("Thu 08:00"), at("Thu 11:00"), "belt", None)
    state, told = step(replace(planned(), machines={EquipmentId("churn"): stopped_until}), "Thu 08:00")
    assert ("raised", "machine_stopped:churn") in told
    assert state.plan is not None
    elsewhere = tuple(t for t in state.plan.tasks if t.equipment != "churn")
    state = replace(state, plan=state.plan.model_copy(update={"tasks": elsewhere}))
    state, told = step(state, "Thu 08:01")
    assert "machine_stopped:churn" not in [alarm for _, alarm in told]
    _, told = step(replace(state, machines={}), "Thu 08:02")
    assert ("returned", "machine_stopped:churn") in told


def test_task_is_called_late_only_when_what_it_waited_for_has_been_over_for_as_long() -> None:
    # Planned for 11:00; it has no window, whose alarm would tell the same.
    state = done(planned(), "S1.simmer", "Wed 10:30", "Wed 11:40")
    for when in ("Wed 11:40", "Wed 11:49"):
        state, told = step(state, when)
        assert "task_late:S1.chill" not in [alarm for _, alarm in told]
    _, told = step(state, "Wed 11:50")
    assert ("raised", "task_late:S1.chill") in told


def test_attended_work_left_in_hand_is_told_a_while_after_its_longest_time_until_it_is_finished() -> None:
    state = begun(planned(), "churn.clean.S1", "Thu 09:40")
    assert state.plan is not None
    assert state.kitchen is not None
    longest = at("Thu 09:40") + timedelta(minutes=state.plan.task(TaskId("churn.clean.S1")).duration.longest)
    told_from = longest + timedelta(minutes=state.kitchen.warnings.late_start)
    alarm = AlarmId("window_closing:churn.clean.S1")
    assert alarm not in conditions(state, {}, told_from)
    facts = conditions(state, {}, told_from + timedelta(seconds=1))[alarm]
    assert (facts.limit_at, facts.reason, facts.missed, facts.helps) == (longest, "longest", False, (Help.CALL_HANDS,))
    ended = done(planned(), "churn.clean.S1", "Thu 09:40", "Thu 10:20")
    assert alarm not in conditions(ended, {}, told_from + timedelta(hours=9))


def test_missed_window_of_quality_does_not_take_the_attention_that_safety_needs() -> None:
    quality = facts_of(_quality_until_saturday(), "Sat 10:16", WINDOW)
    safety = facts_of(_ageing_until_saturday(), "Sat 10:16", WINDOW)
    assert (quality.missed, quality.priority) == (True, Priority.WARNING)
    assert (safety.missed, safety.priority) == (True, Priority.CRITICAL)
