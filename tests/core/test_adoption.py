"""Moves between plans, reasons to wait, and rebasing on what has happened."""

from datetime import timedelta
from typing import Any

from orchestrator.core.adoption import decide_by, moves, rebase, same, stale, waits_for
from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import AttendedSpan, Move, Plan, WindowBreak
from orchestrator.core.planning import plan_request
from orchestrator.core.state import State
from tests.core.script import in_a_planned_kitchen, with_base_chilling
from tests.fakes.kitchens import at
from tests.fakes.plans import small_plan

PLAN = small_plan()


def changed(task: str, **update: Any) -> Plan:
    return PLAN.model_copy(
        update={"tasks": tuple(t.model_copy(update=update) if t.id == task else t for t in PLAN.tasks)}
    )


def without(task: str) -> Plan:
    return PLAN.model_copy(update={"tasks": tuple(t for t in PLAN.tasks if t.id != task)})


def told(state: State, plan: Plan) -> list[tuple[str, str]]:
    return [(move.task, move.what) for move in moves(state, plan)]


def test_moves_without_a_plan_are_none() -> None:
    assert moves(State(), PLAN) == ()


def test_moves_name_what_is_new_gone_shifted_and_elsewhere() -> None:
    state = in_a_planned_kitchen().state
    simmer = PLAN.task(TaskId("S1.simmer"))
    extra = simmer.model_copy(update={"id": TaskId("S2.simmer")})
    more = PLAN.model_copy(update={"tasks": (*PLAN.tasks, extra)})
    assert told(state, more) == [("S2.simmer", "new")]
    assert told(state, without("S1.simmer")) == [("S1.simmer", "gone")]
    assert told(state, changed("S1.simmer", start=at("Wed 10:31"))) == [("S1.simmer", "later")]
    assert told(state, changed("S1.simmer", start=at("Wed 10:29"))) == [("S1.simmer", "earlier")]
    assert told(state, changed("S1.simmer", start=simmer.start + timedelta(seconds=20))) == []
    assert told(state, changed("S1.simmer", equipment=EquipmentId("hob-2"))) == [("S1.simmer", "other equipment")]
    spans = (simmer.spans[0].model_copy(update={"crew": ("late-cook",)}),)
    assert told(state, changed("S1.simmer", spans=spans)) == [("S1.simmer", "other people")]


def test_moves_of_stays_show_only_another_place() -> None:
    state = in_a_planned_kitchen().state
    assert told(state, changed("S1.age", end=at("Thu 11:00"))) == []
    assert told(state, without("S1.age")) == []
    assert told(state, changed("S1.age", equipment=EquipmentId("fridge-2"))) == [("S1.age", "other equipment")]


def test_moves_leave_out_what_has_begun() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 10:30", "start_task", task="S1.simmer")
    assert told(script.state, changed("S1.simmer", start=at("Wed 10:40"))) == []


def test_same_needs_equal_places_and_promises() -> None:
    state = in_a_planned_kitchen().state
    assert same(state, PLAN.model_copy(update={"made_at": at("Wed 07:00"), "method": "repair"}))
    assert not same(state, changed("S1.age", end=at("Thu 10:01")))
    assert not same(state, PLAN.model_copy(update={"pegs": PLAN.pegs[1:]}))
    assert not same(State(), PLAN)


def test_waits_for_a_quality_window_newly_broken_only() -> None:
    state = in_a_planned_kitchen().state
    named = WindowBreak.model_validate(
        {
            "task": "S1.churn",
            "after": "S1.age",
            "window": "quality",
            "minutes": 90,
            "side": "too late",
            "reason": "the churn was stopped",
        }
    )
    broken = PLAN.model_copy(update={"breaks": (named,)})
    assert waits_for(state, broken, at("Wed 06:00")) == ("S1.churn would be 90 min too late after S1.age",)
    script = in_a_planned_kitchen(broken)
    assert waits_for(script.state, broken, at("Wed 06:00")) == ()
    preference = named.model_copy(update={"window": "preference"})
    assert waits_for(state, PLAN.model_copy(update={"breaks": (preference,)}), at("Wed 06:00")) == ()


def test_waits_for_an_order_newly_late_or_given_up() -> None:
    state = in_a_planned_kitchen().state
    late = PLAN.outlooks[0].model_copy(update={"late_min": 20, "margin_min": 0})
    gone = PLAN.outlooks[0].model_copy(update={"met": False, "ready_at": None})
    assert waits_for(state, PLAN.model_copy(update={"outlooks": (late, PLAN.outlooks[1])}), at("Wed 06:00")) == (
        "SAT-STALL would be 20 min late",
    )
    assert waits_for(state, PLAN.model_copy(update={"outlooks": (gone, PLAN.outlooks[1])}), at("Wed 06:00")) == (
        "SAT-STALL can no longer be made",
    )


def test_waits_for_an_order_that_is_late_in_the_present_plan_too_is_none() -> None:
    def late(minutes: int) -> Plan:
        outlook = PLAN.outlooks[0].model_copy(update={"late_min": minutes, "margin_min": 0})
        return PLAN.model_copy(update={"outlooks": (outlook, PLAN.outlooks[1])})

    assert waits_for(in_a_planned_kitchen(late(20)).state, late(25), at("Wed 06:00")) == ()


def test_waits_for_does_not_blame_a_plan_for_what_is_late_by_now() -> None:
    # Nobody has cooked by Friday evening: by the live plan the order is late already.
    state = in_a_planned_kitchen().state
    late = PLAN.outlooks[0].model_copy(update={"late_min": 20, "margin_min": 0})
    plan = PLAN.model_copy(update={"outlooks": (late, PLAN.outlooks[1])})
    assert "SAT-STALL would be 20 min late" in waits_for(state, plan, at("Wed 06:00"))
    assert not [why for why in waits_for(state, plan, at("Sat 10:00")) if "late" in why]


def test_waits_for_hands_within_the_hour_counts_from_where_they_stand_by_now() -> None:
    state = with_base_chilling(in_a_planned_kitchen()).state
    simmer = PLAN.task(TaskId("S1.simmer"))
    late = {"start": at("Wed 10:45"), "end": at("Wed 11:15")}
    spans = (AttendedSpan(start=late["start"], end=late["end"], crew=simmer.spans[0].crew),)
    plan = changed("S1.simmer", **late, spans=spans)
    assert waits_for(state, plan, at("Wed 09:29")) == ()
    reason = "Simmer damsons (S1.simmer) starts within the hour and would be moved"
    assert reason in waits_for(state, plan, at("Wed 09:30"))
    four = {"start": at("Wed 10:34"), "end": at("Wed 11:04")}
    assert waits_for(state, changed("S1.simmer", **four), at("Wed 09:40")) == ()
    # By 10:45 it has not been started: the present plan itself has moved there.
    assert reason not in waits_for(state, plan, at("Wed 10:45"))


def test_decide_by_is_the_first_start_moved_within_limits() -> None:
    def at_first(start: str) -> Move:
        return Move(task=TaskId("x"), title="X", before=at(start), after=at("Wed 12:00"), what="later")

    now = at("Wed 09:00")
    assert decide_by((), now) == at("Wed 10:00")
    assert decide_by((at_first("Wed 09:40"),), now) == at("Wed 09:40")
    assert decide_by((at_first("Wed 09:01"),), now) == at("Wed 09:05")
    assert decide_by((at_first("Wed 11:30"),), now) == at("Wed 10:00")


def test_rebase_puts_facts_at_their_actual_times_and_hands_with_them() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:10", "start_task", task="C1.cook", person="late-cook")
    request = plan_request(script.state, at("Wed 08:20"))
    task = rebase(PLAN, request).task(TaskId("C1.cook"))
    assert (task.start, task.end) == (at("Wed 08:10"), at("Wed 08:50"))
    assert task.spans == (AttendedSpan(start=at("Wed 08:10"), end=at("Wed 08:50"), crew=("late-cook",)),)  # type: ignore[arg-type]


def test_rebase_without_facts_is_the_plan_itself() -> None:
    assert rebase(PLAN, plan_request(in_a_planned_kitchen().state, at("Wed 06:00"))) is PLAN


def test_stale_judges_a_plan_as_of_when_it_was_made_for_an_hour() -> None:
    # C1.cook was to start at 08:00 and has not: simply due, until the plan is too old to judge so.
    state = in_a_planned_kitchen().state
    plan = PLAN.model_copy(update={"made_at": at("Wed 07:55")})
    assert stale(state, plan, at("Wed 08:20"))[1] == ()
    assert {v.rule for v in stale(state, plan, at("Wed 08:56"))[1]} == {"present"}


def test_stale_finds_a_machine_that_stopped_since() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 07:00", "stop_machine", equipment="hob-1", until=at("Wed 09:00"))
    found = stale(script.state, PLAN.model_copy(update={"made_at": at("Wed 06:59")}), at("Wed 07:01"))[1]
    assert [(v.rule, v.tasks) for v in found] == [("stopped", (TaskId("C1.cook"),))]
