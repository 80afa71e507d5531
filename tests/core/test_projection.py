"""Where the plan stands by now."""

import time
from dataclasses import replace
from datetime import timedelta

from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import Plan
from orchestrator.core.pace import minutes_here
from orchestrator.core.planning import expected_end
from orchestrator.core.projection import Projected, project
from orchestrator.core.state import MachineStop, State
from tests.fakes.kitchens import at, small_kitchen, with_machine
from tests.fakes.plans import small_plan
from tests.fakes.states import base_ageing, begun, done, hardening, planned


def _at(state: State, now: str, task: str) -> Projected:
    return project(state, at(now))[TaskId(task)]


def _span(start: str, end: str) -> Projected:
    return Projected(at(start), at(end))


def test_project_before_anything_is_due_is_the_plan() -> None:
    state = planned()
    assert state.plan is not None
    expected = {t.id: Projected(t.start, t.end) for t in state.plan.tasks}
    assert dict(project(state, at("Wed 06:00"))) == expected


def test_project_when_the_first_task_is_late_shifts_links_stays_and_machines() -> None:
    state = planned()
    assert _at(state, "Wed 09:30", "C1.cook") == _span("Wed 09:30", "Wed 10:10")
    assert _at(state, "Wed 09:30", "C1.chill") == _span("Wed 10:10", "Wed 11:40")
    # The ice bath takes one pot at a time: sorbet waits for it, though its own pot is ready at 11:00.
    assert _at(state, "Wed 09:30", "S1.chill") == _span("Wed 11:40", "Wed 12:40")
    assert _at(state, "Wed 09:30", "C1.age.B1") == _span("Wed 11:40", "Thu 09:00")
    assert _at(state, "Wed 09:30", "B1.churn") == _span("Thu 09:00", "Thu 09:30")


def test_project_when_chilling_ends_late_ages_twelve_hours_before_churning() -> None:
    state = done(done(planned(), "C1.cook", "Wed 20:00", "Wed 20:40"), "C1.chill", "Wed 20:45", "Wed 22:30")
    assert _at(state, "Wed 23:00", "B1.churn") == _span("Thu 10:30", "Thu 11:00")
    assert _at(state, "Wed 23:00", "C1.age.B1") == _span("Wed 22:30", "Thu 10:30")


def test_project_attended_work_pushed_past_the_last_shift_waits_for_the_next_morning() -> None:
    state = base_ageing()
    assert _at(state, "Thu 20:45", "B1.churn") == _span("Fri 06:00", "Fri 06:30")


def test_project_attended_work_does_not_span_the_break_of_the_only_one_there() -> None:
    # 12:30 to 13:00 is the early cook's break, and the late cook comes at 13:00.
    assert _at(planned(), "Wed 12:10", "C1.cook") == _span("Wed 13:00", "Wed 13:40")


def test_project_work_in_hand_on_a_slow_machine_ends_later() -> None:
    slow = with_machine(small_kitchen(), "hob-1", speed=0.5)
    state = begun(planned(slow, small_plan(small_kitchen())), "C1.cook", "Wed 08:00")
    # 40 minutes by the recipe; planned for them, begun on a hob at half the speed.
    assert _at(state, "Wed 08:20", "C1.cook") == _span("Wed 08:00", "Wed 09:20")
    assert expected_end(state, TaskId("C1.cook"), at("Wed 08:20")) == at("Wed 09:20")
    assert state.plan is not None
    assert minutes_here(state, state.plan.task(TaskId("C1.cook"))).usual == 80


def test_project_task_in_hand_over_its_usual_time_ends_now() -> None:
    state = begun(planned(), "C1.cook", "Wed 08:00")
    assert _at(state, "Wed 08:20", "C1.cook") == _span("Wed 08:00", "Wed 08:40")
    assert _at(state, "Wed 08:50", "C1.cook") == _span("Wed 08:00", "Wed 08:50")


def test_project_extended_task_in_hand_ends_that_much_later() -> None:
    state = begun(planned(), "C1.cook", "Wed 08:00")
    cook = TaskId("C1.cook")
    state = replace(state, tasks={cook: replace(state.tasks[cook], extended_min=25)})
    assert _at(state, "Wed 08:20", "C1.cook") == _span("Wed 08:00", "Wed 09:05")
    assert _at(state, "Wed 08:20", "C1.chill").start == at("Wed 09:05")


def test_project_machine_stopped_until_noon_shifts_both_runs_behind_it() -> None:
    stop = MachineStop(since=at("Thu 08:30"), until=at("Thu 11:00"), reason="belt", by=None)
    state = replace(base_ageing(), machines={EquipmentId("churn"): stop})
    assert _at(state, "Thu 08:40", "B1.churn") == _span("Thu 11:00", "Thu 11:30")
    assert _at(state, "Thu 08:40", "churn.clean.S1") == _span("Thu 11:30", "Thu 11:50")
    assert _at(state, "Thu 08:40", "S1.churn") == _span("Thu 11:50", "Thu 12:20")


def test_project_machine_stopped_without_an_end_is_taken_to_be_back_in_two_hours() -> None:
    stop = MachineStop(since=at("Thu 08:30"), until=None, reason="belt", by=None)
    state = replace(base_ageing(), machines={EquipmentId("churn"): stop})
    assert _at(state, "Thu 08:40", "B1.churn").start == at("Thu 10:40")


def test_project_early_break_named_by_the_plan_keeps_the_planned_start() -> None:
    state = done(done(planned(), "C1.cook", "Wed 20:00", "Wed 20:40"), "C1.chill", "Wed 20:45", "Wed 22:30")
    named = {"task": "B1.churn", "after": "C1.age.B1", "window": "quality", "minutes": 90, "side": "too early"}
    assert state.plan is not None
    plan = Plan.model_validate({**state.plan.model_dump(), "breaks": [{**named, "reason": "order due"}]})
    assert _at(replace(state, plan=plan), "Wed 23:00", "B1.churn").start == at("Thu 09:00")


def test_project_done_tasks_keep_their_actual_times() -> None:
    assert _at(hardening(), "Thu 12:00", "B1.churn") == _span("Thu 09:00", "Thu 09:30")
    assert _at(hardening(), "Thu 12:00", "B1.harden.SAT-STALL") == _span("Thu 09:30", "Sat 10:20")


def test_project_of_150_tasks_takes_less_than_five_milliseconds() -> None:
    state = planned()
    plan = state.plan
    assert plan is not None
    copies = [
        t.model_copy(
            update={
                "id": f"{n}{t.id}",
                "links": tuple(k.model_copy(update={"after": f"{n}{k.after}"}) for k in t.links),
            }
        )
        for n in range(10)
        for t in plan.tasks
    ]
    big = replace(state, plan=plan.model_copy(update={"tasks": tuple(copies)}))
    assert len(project(big, at("Wed 12:00"))) == 150
    best = min(_seconds(big, n) for n in range(1, 6))
    assert best < 0.005


def _seconds(state: State, minute: int) -> float:
    begins = time.process_time()
    project(state, at("Wed 12:00") + timedelta(minutes=minute))
    return time.process_time() - begins
