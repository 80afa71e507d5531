"""Windows of starts and ends, from links and stays."""

from dataclasses import replace

from orchestrator.core.ids import TaskId
from orchestrator.core.models import WindowClass
from orchestrator.core.projection import project
from orchestrator.core.state import State
from orchestrator.core.windows import Bounds, bounds, start_bounds
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing, begun, done, hardening, planned


def _bounds(state: State, task: str, now: str | None = None) -> Bounds:
    assert state.plan is not None
    return bounds(state, state.plan.task(TaskId(task)), project(state, at(now)) if now else None)


def test_bounds_of_a_waiting_task_without_facts_are_those_written_in_the_plan() -> None:
    state = planned()
    assert state.plan is not None
    for task in state.plan.tasks:
        if task.closes is not None:
            found = bounds(state, task)
            assert (found.opens, found.closes, found.cls, found.firm) == (
                task.opens,
                task.closes,
                task.closing_class,
                False,
            )


def test_bounds_follow_the_actual_end_of_the_task_before() -> None:
    state = done(planned(), "C1.cook", "Wed 08:00", "Wed 08:50")
    assert _bounds(state, "C1.chill") == Bounds(
        opens=at("Wed 08:50"),
        closes=at("Wed 09:05"),
        cls=WindowClass.SAFETY,
        opened_by=TaskId("C1.cook"),
        closed_by=TaskId("C1.cook"),
        firm=True,
    )


def test_bounds_follow_the_live_end_of_work_in_hand_and_are_not_firm() -> None:
    state = begun(planned(), "C1.cook", "Wed 08:10")
    assert _bounds(state, "C1.chill").closes == at("Wed 09:05")
    live = _bounds(state, "C1.chill", "Wed 09:00")
    assert (live.opens, live.closes, live.firm) == (at("Wed 09:00"), at("Wed 09:15"), False)


def test_bounds_of_the_taker_of_a_stay_count_from_the_stays_actual_start() -> None:
    found = _bounds(base_ageing(), "B1.churn")
    assert (found.opens, found.closes, found.cls, found.opening_cls) == (
        at("Wed 22:15"),
        at("Sat 10:15"),
        WindowClass.SAFETY,
        WindowClass.SAFETY,
    )
    assert found.closed_by == "C1.age.B1"


def test_bounds_of_a_stay_in_hand_are_of_its_end() -> None:
    found = _bounds(hardening(), "B1.harden.SAT-STALL")
    assert (found.opens, found.closes, found.cls) == (at("Thu 13:30"), at("Thu+10 09:30"), WindowClass.QUALITY)


def test_bounds_of_work_in_hand_are_its_shortest_and_longest_but_none_where_a_temperature_decides() -> None:
    state = begun(base_ageing(), "B1.churn", "Thu 09:00")
    record = replace(state.tasks[TaskId("B1.churn")], extended_min=10)
    state = replace(state, tasks={**state.tasks, TaskId("B1.churn"): record})
    assert _bounds(state, "B1.churn") == Bounds(opens=at("Thu 09:25"), closes=at("Thu 09:55"))
    assert _bounds(begun(planned(), "C1.cook", "Wed 08:00"), "C1.cook") == Bounds()


def test_start_bounds_of_a_started_task_stay_as_they_were_judged() -> None:
    state = begun(base_ageing(), "B1.churn", "Thu 09:00")
    assert state.plan is not None
    found = start_bounds(state, state.plan.task(TaskId("B1.churn")))
    assert (found.opens, found.closes, found.firm) == (at("Wed 22:15"), at("Sat 10:15"), True)


def test_bounds_of_a_task_after_nothing_are_open() -> None:
    assert _bounds(planned(), "C1.cook") == Bounds()
