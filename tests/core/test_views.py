"""What the screens show, on hand-made states."""

from dataclasses import replace
from datetime import timedelta

import pytest

from orchestrator.core import views
from orchestrator.core.alarms import alarm_events
from orchestrator.core.events import EVENTS
from orchestrator.core.ids import CommandId, EquipmentId, LotCode, ProbeId, StationId, TaskId
from orchestrator.core.models import ProbeFact
from orchestrator.core.state import Act, Facts, LotRecord, LotStatus, MachineStop, State, TaskRecord
from orchestrator.core.views.board_models import BlockView, BoardView
from orchestrator.core.views.models import FillBlock, StationView, TaskView, WindowState
from tests.core.script import in_a_planned_kitchen
from tests.fakes.kitchens import at
from tests.fakes.states import COOK, base_ageing, begun, done, hardening, planned, with_events

STOVE, COUNTER = StationId("stove"), StationId("counter")


def _station(state: State, now: str, facts: Facts | None = None, station: StationId = STOVE) -> StationView:
    return views.station_view(state, facts or {}, at(now), station)


def _task(state: State, now: str, task: str, facts: Facts | None = None) -> TaskView:
    return views.task_view(state, facts or {}, at(now), TaskId(task))


def _board(state: State, now: str) -> BoardView:
    return views.board_view(state, {}, at(now))


def _ids(found: tuple[TaskView, ...]) -> list[str]:
    return [v.task for v in found]


def _block(board: BoardView, task: str) -> BlockView:
    return next(b for row in board.rows for b in row.blocks if b.task == task)


def _facts(**fact: object) -> Facts:
    made = ProbeFact.model_validate(fact)
    return {made.probe: made}


def test_station_before_the_first_task_is_idle_and_names_the_next() -> None:
    view = _station(planned(), "Wed 07:00")
    assert (view.name, view.in_hand, view.on_its_own) == ("Stove and churn", (), ())
    assert _ids(view.next_here) == [
        "C1.cook",
        "C1.chill",
        "S1.simmer",
        "S1.chill",
    ]  # within a day; the rest is counted
    assert (view.later_here, view.later_from) == (3, at("Thu 09:00"))
    assert view.idle is not None
    assert (view.idle.free_until, view.idle.may_start_now) == (at("Wed 08:00"), True)
    assert (view.idle.probes_heard, view.idle.probes_total, view.idle.alarms_last_12h) == (0, 4, 0)


def test_station_shows_a_task_that_is_due_in_hand() -> None:
    view = _station(planned(), "Wed 08:00")
    assert _ids(view.in_hand) == ["C1.cook"]
    assert view.in_hand[0].status == "waiting"
    assert view.idle is None
    assert "C1.cook" not in _ids(view.next_here)


def test_station_moves_a_chill_to_on_its_own_after_its_attended_start_and_back_when_it_is_over() -> None:
    state = begun(done(planned(), "C1.cook", "Wed 08:00", "Wed 08:40"), "C1.chill", "Wed 08:45")
    assert _ids(_station(state, "Wed 08:47").in_hand) == ["C1.chill"]
    assert _ids(_station(state, "Wed 08:50").on_its_own) == ["C1.chill"]
    assert _ids(_station(state, "Wed 10:15").in_hand) == ["C1.chill"]
    met = _facts(probe="ice-bath-core", equipment="ice-bath", task="C1.chill", celsius=4.9, met_at=at("Wed 09:50"))
    assert _ids(_station(state, "Wed 09:51", met).in_hand) == ["C1.chill"]


def test_station_lists_stays_by_their_next_mark() -> None:
    view = _station(base_ageing(), "Wed 14:00")
    assert [(v.task, v.window.opens if v.window else None) for v in view.on_its_own] == [
        ("S1.age", at("Wed 16:00")),
        ("C1.age.B1", at("Wed 22:15")),
    ]


def test_station_with_nothing_within_a_day_still_names_the_next() -> None:
    view = _station(base_ageing(), "Wed 14:00", station=COUNTER)
    assert (len(view.next_here), view.later_here) == (1, 3)
    assert view.next_here[0].planned_start > at("Thu 14:00")


def test_idle_names_what_has_to_follow_an_early_start() -> None:
    idle = _station(planned(), "Wed 07:00").idle
    assert idle is not None
    assert (idle.may_start_now, idle.why_not) == (True, "")
    # The base cooks for 40 min and has to be chilling within 15 min after: the plan has that an hour later.
    assert (idle.then_title, idle.then_by) == ("Chill the custard base", at("Wed 07:55"))


def test_idle_says_what_keeps_the_next_task_from_starting() -> None:
    stopped = replace(planned(), machines={EquipmentId("hob-1"): MachineStop(at("Wed 06:30"), None, "gas", None)})
    idle = _station(stopped, "Wed 07:00").idle
    assert idle is not None
    assert not idle.may_start_now
    assert "stopped" in idle.why_not


def test_clean_down_says_for_whom_it_is_and_what_must_be_gone() -> None:
    view = views.task_view(planned(), {}, at("Wed 07:00"), TaskId("churn.clean.S1"))
    assert (view.recipe_name, view.lot, view.after_lot) == ("Damson sorbet", "S1", "B1")
    assert view.removes == ("egg", "milk")
    assert (view.step_number, view.step_count) == (0, 0)


def test_counter_sees_what_is_kept_for_it() -> None:
    view = _station(hardening(), "Sat 09:00", station=COUNTER)
    assert _ids(view.next_here) == [
        "SAT-STALL.B.temper",
        "SAT-STALL.B.hand-over",
    ]
    assert _ids(view.on_its_own) == ["B1.harden.SAT-STALL", "S1.harden.SUN-CAFE"]


@pytest.mark.parametrize(
    ("now", "state", "late"),
    [
        ("Wed 20:00", WindowState.SHUT, 0),
        ("Wed 21:50", WindowState.OPENING, 0),
        ("Wed 22:15", WindowState.OPEN, 0),
    ],
)
def test_window_of_a_stay_in_hand_opens(now: str, state: WindowState, late: int) -> None:
    window = _task(base_ageing(), now, "C1.age.B1").window
    assert window is not None
    assert (window.state, window.late_min) == (state, late)
    assert (window.opens, window.planned, window.closes) == (at("Wed 22:15"), at("Thu 09:00"), at("Sat 10:15"))


@pytest.mark.parametrize(
    ("now", "state", "late"),
    [
        ("Fri 10:59", WindowState.OPEN, 0),
        ("Fri 11:00", WindowState.CLOSING, 0),
        ("Fri 11:50", WindowState.AT_RISK, 60),
        ("Fri 12:05", WindowState.MISSED, 5),
    ],
)
def test_window_of_a_waiting_task_closes(now: str, state: WindowState, late: int) -> None:
    # S1 may rest until Friday 12:00; B1 was churned. At 11:50 the churn is clean in 18 minutes, too late to be
    # done with churning before the break at 12:30: not before 13:00.
    base = done(base_ageing(), "B1.churn", "Thu 09:00", "Thu 09:30")
    if now == "Fri 11:50":
        base = begun(base, "churn.clean.S1", "Fri 11:48")
    else:
        base = done(base, "churn.clean.S1", "Thu 09:35", "Thu 09:55")
    window = _task(base, now, "S1.churn").window
    assert window is not None
    assert (window.state, window.late_min, window.lead_min) == (state, late, 60)


def test_task_carries_scaled_amounts_lots_method_and_cautions() -> None:
    state = planned()
    assert state.plan is not None
    batches = tuple(b.model_copy(update={"scale": 0.5}) for b in state.plan.batches)
    state = replace(state, plan=state.plan.model_copy(update={"batches": batches}))
    cook, churn = _task(state, "Wed 07:00", "C1.cook"), _task(state, "Wed 07:00", "B1.churn")
    assert [(a.what, a.quantity.value, a.quantity.unit, a.allergens) for a in cook.amounts] == [
        ("whole milk", 1.5, "L", ("milk",)),
        ("egg yolk", 0.3, "kg", ("egg",)),
    ]
    assert [(a.what, a.quantity.value, a.lots, a.allergens) for a in churn.amounts] == [
        ("Custard base", 2.5, ("C1",), ("egg", "milk"))
    ]
    assert churn.method == ("Pour in the base", "Draw off at −6 °C")
    assert churn.cautions == ("Keep hands out of the barrel",)
    assert (churn.step_number, churn.step_count, churn.measure, churn.hands_min) == (1, 4, "volume_l", 30)
    assert (churn.crew, churn.recipe_name, churn.equipment_name) == (("Early cook",), "Basil custard", "Churn")
    assert _task(state, "Wed 07:00", "C1.chill").hands_min == 5
    assert _task(state, "Wed 07:00", "SAT-STALL.B.temper").allergens == ("egg", "milk")


@pytest.mark.parametrize(("celsius", "met"), [(3.9, True), (4.1, False)])
def test_task_shows_its_gate_with_the_present_reading(celsius: float, met: bool) -> None:
    facts = _facts(probe="fridge-air", equipment="fridge", celsius=celsius, measured_at=at("Thu 08:59"))
    gates = _task(base_ageing(), "Thu 09:00", "B1.churn", facts).gates
    assert [(g.says, g.met, g.celsius) for g in gates] == [("Base at most 4 °C", met, celsius)]
    assert _task(base_ageing(), "Thu 09:00", "B1.churn").gates[0].met is None


def test_task_temperature_comes_from_the_probe_and_a_fresher_hand_reading_replaces_it() -> None:
    state = begun(planned(), "C1.cook", "Wed 08:00")
    facts = _facts(
        probe="hob-1-core",
        equipment="hob-1",
        task="C1.cook",
        celsius=74.6,
        measured_at=at("Wed 08:20"),
        slope_c_per_min=1.6,
        arrival_from=at("Wed 08:24"),
        arrival_to=at("Wed 08:26"),
    )
    found = _task(state, "Wed 08:20", "C1.cook", facts).temperature
    assert found is not None
    assert (found.celsius, found.slope_c_per_min, found.target_c, found.direction) == (74.6, 1.6, 82.0, "at least")
    assert (found.ceiling_c, found.hold_min, found.arrival_from, found.arrival_to) == (
        85.0,
        1,
        at("Wed 08:24"),
        at("Wed 08:26"),
    )
    cook = TaskId("C1.cook")
    by_hand = replace(state.tasks[cook], hand_readings=((at("Wed 08:22"), 78.0),))
    found = _task(replace(state, tasks={**state.tasks, cook: by_hand}), "Wed 08:23", "C1.cook", facts).temperature
    assert found is not None
    assert (found.celsius, found.by_hand, found.slope_c_per_min, found.arrival_from) == (78.0, True, None, None)
    assert _task(planned(), "Wed 07:00", "C1.cook", facts).temperature is None


def test_task_of_a_silent_probe_has_no_arrival() -> None:
    state = begun(planned(), "C1.cook", "Wed 08:00")
    facts = _facts(
        probe="hob-1-core",
        equipment="hob-1",
        task="C1.cook",
        celsius=49.0,
        measured_at=at("Wed 08:10"),
        slope_c_per_min=1.6,
        arrival_from=at("Wed 08:24"),
        silent_since=at("Wed 08:10"),
    )
    found = _task(state, "Wed 08:25", "C1.cook", facts).temperature
    assert found is not None
    assert (found.silent_since, found.arrival_from, found.slope_c_per_min) == (at("Wed 08:10"), None, None)


@pytest.mark.parametrize(("task", "whom"), [("C1.age.B1", "B1"), ("B1.harden.SAT-STALL", "SAT-STALL"), ("S1.age", "")])
def test_stay_names_who_takes_the_food_unless_it_is_its_own_lot(task: str, whom: str) -> None:
    assert _task(planned(), "Wed 07:00", task).meant_for == whom


def test_task_that_is_not_there_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        _task(planned(), "Wed 07:00", "X9.cook")
    with pytest.raises(KeyError):
        _station(planned(), "Wed 07:00", station=StationId("attic"))


def test_stores_show_what_is_there_and_what_is_booked_for_the_next_day() -> None:
    facts = _facts(probe="fridge-air", equipment="fridge", celsius=2.8, measured_at=at("Wed 11:00"))
    state = done(done(planned(), "C1.cook", "Wed 08:00", "Wed 08:40"), "C1.chill", "Wed 08:45", "Wed 10:15")
    fridge, freezer = _station(state, "Wed 11:00", facts).stores
    assert (fridge.name, fridge.celsius, fridge.low_c, fridge.high_c) == ("Fridge", 2.8, 0.0, 5.0)
    assert (fridge.filled, fridge.capacity.value) == (5.0, 24.0)
    assert fridge.blocks == (
        FillBlock(lot=LotCode("C1"), litres=5.0, booked=False),
        FillBlock(lot=LotCode("S1"), litres=5.0, booked=True),
    )
    assert freezer.blocks == (
        FillBlock(lot=LotCode("B1"), litres=5.0, booked=True),
        FillBlock(lot=LotCode("S1"), litres=5.0, booked=True),
    )


def test_station_shows_its_own_and_critical_alarms_not_seen_first() -> None:
    state = with_events(planned(), alarm_events(planned(), {}, at("Wed 08:10")), at("Wed 08:10"))
    assert [a.id for a in _station(state, "Wed 08:10").alarms] == ["task_late:C1.cook"]
    assert _station(state, "Wed 08:10", station=COUNTER).alarms == ()


def test_station_offers_to_undo_the_last_act_until_something_builds_on_it() -> None:
    cook = TaskId("C1.cook")
    finished = Act(seq=5, what="finished", task=cook, person=COOK, at=at("Wed 08:40"), before={cook: TaskRecord()})
    state = replace(done(planned(), "C1.cook", "Wed 08:00", "Wed 08:40"), acts=(finished,))
    act = _station(state, "Wed 08:41").last_act
    assert act is not None
    assert (act.act, act.what, act.title, act.person, act.undoable) == (
        5,
        "finished",
        "Cook the custard base",
        "Early cook",
        True,
    )
    late = _station(state, "Wed 09:11").last_act
    assert late is not None
    assert late.undoable is False
    after = _station(begun(state, "C1.chill", "Wed 08:45"), "Wed 08:46").last_act
    assert after is not None
    assert (after.act, after.undoable) == (5, False)


def test_people_are_on_shift_but_not_in_their_break() -> None:
    there = {p.id: p.on_shift for p in _station(planned(), "Wed 12:45").people}
    assert there == {"early-cook": False, "late-cook": False, "counter-hand": False, "manager": True}


def test_views_before_the_first_plan_show_the_kitchen_and_its_people() -> None:
    state = replace(planned(), plan=None)
    board, station = _board(state, "Wed 07:00"), _station(state, "Wed 07:00")
    assert [len(row.blocks) for row in board.rows] == [0] * 6
    assert [o.outlook for o in board.orders] == [None, None]
    assert [p.id for p in station.people if p.on_shift] == ["early-cook"]
    assert (station.in_hand, station.next_here) == ((), ())
    with pytest.raises(KeyError):
        views.board_view(State(), {}, at("Wed 06:00"))


def test_orders_show_the_live_outlook() -> None:
    first, second = views.order_views(hardening(), {}, at("Sat 10:45"))
    assert (first.order, first.lines, first.lots) == ("SAT-STALL", ("4.8 L basil custard",), ("B1",))
    assert first.outlook is not None
    # Tempering has not begun at 10:45: 20 + 10 minutes from now.
    assert (first.outlook.ready_at, first.outlook.late_min, first.outlook.margin_min) == (at("Sat 11:15"), 15, 0)
    assert second.outlook is not None
    assert (second.outlook.late_min, second.outlook.margin_min) == (0, 10)
    state = done(hardening(), "SAT-STALL.B.temper", "Sat 10:20", "Sat 10:40")
    state = done(state, "SAT-STALL.B.hand-over", "Sat 10:40", "Sat 10:52")
    assert views.order_views(state, {}, at("Sat 10:53"))[0].handed_over_at == at("Sat 10:52")


def test_lots_say_where_they_are_and_what_was_decided() -> None:
    found = views.lot_views(base_ageing(), {}, at("Wed 14:00"))
    assert [(v.lot, v.name, v.status, v.where, v.made_at, v.for_orders) for v in found] == [
        ("C1", "Custard base", "free", "Fridge", at("Wed 10:15"), ("SAT-STALL",)),
        ("B1", "Basil custard", "planned", "", None, ("SAT-STALL",)),
        ("S1", "Damson sorbet", "in work", "Fridge", None, ("SUN-CAFE",)),
    ]
    held = replace(base_ageing(), lots={LotCode("C1"): LotRecord(LotStatus.ON_HOLD, at("Wed 13:00"), "too warm")})
    first = views.lot_views(held, {}, at("Wed 14:00"))[0]
    assert (first.status, first.reason) == ("on hold", "too warm")
    assert views.lot_views(hardening(), {}, at("Thu 12:00"))[0].status == "used"


def test_probes_say_what_they_read_and_for_which_task() -> None:
    state = begun(planned(), "C1.cook", "Wed 08:00")
    facts = {
        **_facts(probe="hob-1-core", equipment="hob-1", celsius=61.0, measured_at=at("Wed 08:10")),
        **_facts(probe="freezer-air", equipment="freezer", celsius=-12.0, outside_since=at("Wed 08:00")),
    }
    found = {v.probe.id: v for v in views.probe_views(state, facts, at("Wed 08:11"))}
    hob, freezer = found[ProbeId("hob-1-core")], found[ProbeId("freezer-air")]
    assert (hob.celsius, hob.task, hob.task_title, hob.high_c) == (61.0, "C1.cook", "Cook the custard base", None)
    assert (freezer.celsius, freezer.high_c, freezer.outside_since) == (-12.0, -15.0, at("Wed 08:00"))
    assert found[ProbeId("fridge-air")].celsius is None
    assert views.probe_views(State(), {}, at("Wed 08:00")) == ()


def test_idle_station_counts_alarms_of_the_night_that_were_seen_and_are_over_too() -> None:
    script, morning = in_a_planned_kitchen(), at("Wed 07:00")
    facts = {"kind": "probe_silent", "priority": "warning", "since": morning - timedelta(hours=13)}
    for hours, kind, more in (
        (12.5, "alarm_raised", {"alarm": "evening", "facts": facts}),
        (5, "alarm_raised", {"alarm": "night", "facts": facts}),
        (4.5, "alarm_acknowledged", {"alarm": "night", "person": "early-cook"}),
        (4, "alarm_returned", {"alarm": "night"}),
    ):
        event = EVENTS.validate_python({"kind": kind, "at": morning - timedelta(hours=hours), **more})
        script.record(CommandId(f"before-{hours}-{kind}"), (event,))
    assert "night" not in script.state.alarms
    idle = _station(script.state, "Wed 07:00").idle
    assert idle is not None
    assert idle.alarms_last_12h == 1


def test_task_that_could_have_begun_counts_from_the_start_its_plan_named_and_not_from_now() -> None:
    [late] = _station(planned(), "Wed 08:07").in_hand
    assert (late.task, late.planned_start, late.due_since) == ("C1.cook", at("Wed 08:07"), at("Wed 08:00"))
    [in_time] = _station(planned(), "Wed 08:00").in_hand
    assert (in_time.planned_start, in_time.due_since) == (at("Wed 08:00"), None)
