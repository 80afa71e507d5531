"""Time since cleaning: FDA Food Code 2022, 4-602.11(C), 4 h; the machine's own interval where it names one."""

from dataclasses import replace
from datetime import timedelta

import pytest

from orchestrator.core.cleaned import cleaning_gate, in_use
from orchestrator.core.events import TaskStarted
from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import Equipment, Upkeep
from orchestrator.core.models.equipment import Cleaning
from orchestrator.core.state import State, TaskStatus
from orchestrator.kitchen.shipped import shipped_limits
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at, small_kitchen


def _churning(every: int | None) -> Script:
    """The base is aged, and the churn runs since Thursday 09:00."""
    machines = tuple(
        e.model_copy(update={"cleaning": Cleaning(rinse=10, full=30, skill="cleaning", every=every)})
        if e.id == "churn"
        else e
        for e in small_kitchen().equipment
    )
    script = with_base_aged(in_a_planned_kitchen(equipment=machines, limits=shipped_limits().limits))
    script.give("Thu 09:00", "start_task", task="B1.churn", person="early-cook")
    return script


def _churn(script: Script) -> Equipment:
    assert script.state.kitchen is not None
    return next(e for e in script.state.kitchen.equipment if e.id == "churn")


@pytest.mark.parametrize(
    ("every", "hours", "status", "own"),
    [(None, 4, "met", False), (None, 4.001, "broken", False), (360, 6, "met", True), (360, 6.001, "broken", True)],
)
def test_machine_in_use_is_judged_by_its_own_interval_else_by_four_hours(
    every: int | None, hours: float, status: str, own: bool
) -> None:
    script = _churning(every)
    found = in_use(script.state, _churn(script), at("Thu 09:00") + timedelta(hours=hours))
    assert found is not None
    assert found.verdict is not None
    assert (found.since, found.verdict.status, found.own) == (at("Thu 09:00"), status, own)
    assert found.verdict.applied.startswith("FDA Food Code 2022, 4-602.11(C)")


def test_machine_that_was_not_used_since_has_nothing_to_be_judged() -> None:
    script = with_base_aged(in_a_planned_kitchen(limits=shipped_limits().limits))
    machine = small_kitchen().equipment[0].model_copy(update={"cleaning": Cleaning(rinse=1, full=2, skill="cleaning")})
    found = in_use(script.state, machine.model_copy(update={"id": "another"}), script.now)
    assert found is not None
    assert (found.since, found.verdict) == (None, None)


def test_no_machine_is_judged_in_a_kitchen_without_the_limit() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    assert all(in_use(script.state, machine, script.now) is None for machine in small_kitchen().equipment)


def test_machine_past_its_interval_shuts_the_gate_of_the_next_run() -> None:
    """The churn's first run of Thursday is its own evidence: it was not in use before."""
    script = _churning(360)
    started = next(r.event for r in script.log if isinstance(r.event, TaskStarted) and r.event.task == "B1.churn")
    assert all("cleaned" not in gate.says for gate in started.gates)
    assert script.state.plan is not None
    task = next(t for t in script.state.plan.tasks if t.id == "B1.churn")
    gates = [cleaning_gate(script.state, task, task.equipment, at(when)) for when in ("Thu 14:59", "Thu 15:01")]
    assert [[(gate.says, gate.met) for gate in found] for found in gates] == [
        [("Churn is to be cleaned by Thu 15:00", True)],
        [("Churn was to be cleaned by Thu 15:00", False)],
    ]


def _cleaned_and_run_again(upkeep: Upkeep | None, minutes: int) -> State:
    """The churn ran from Thursday 09:00, was seen to from 09:35 to 09:55, and runs again since 10:00."""
    script = _churning(None)
    script.give("Thu 09:30", "finish_task", task="B1.churn", person="early-cook", measured={"volume_l": 4.9})
    state, plan = script.state, script.state.plan
    assert plan is not None
    duration = {"shortest": minutes, "usual": minutes, "longest": minutes}
    tasks = tuple(
        task.model_copy(update={"upkeep": upkeep, "duration": type(task.duration).model_validate(duration)})
        if task.id == "churn.clean.S1"
        else task
        for task in plan.tasks
    )
    clean = replace(
        state.record(TaskId("B1.churn")),
        started_at=at("Thu 09:35"),
        finished_at=at("Thu 09:55"),
        status=TaskStatus.DONE,
    )
    again = replace(clean, started_at=at("Thu 10:00"), finished_at=None, status=TaskStatus.IN_HAND)
    done = {**state.tasks, TaskId("churn.clean.S1"): clean, TaskId("S1.churn"): again}
    return replace(state, plan=plan.model_copy(update={"tasks": tasks}), tasks=done)


@pytest.mark.parametrize(
    ("upkeep", "minutes", "thorough"),
    [
        (Upkeep.FULL, 20, True),
        (Upkeep.HYGIENE, 20, True),
        (Upkeep.DAY_END, 20, True),
        (Upkeep.RINSE, 30, False),
        (Upkeep.PRECOOL, 30, False),
        (None, 30, True),
        (None, 29, False),
    ],
    ids=["full", "hygiene", "day's end", "rinse", "pre-cool", "of an old plan, as long as a full one", "shorter"],
)
def test_only_a_thorough_clean_begins_the_count_anew(upkeep: Upkeep | None, minutes: int, thorough: bool) -> None:
    """FDA Food Code 2022, 4-602.11(C) asks for cleaning; water alone between two flavours is none (common practice)."""
    state = _cleaned_and_run_again(upkeep, minutes)
    machine = _churn(Script(state=state))
    found = in_use(state, machine, at("Thu 13:30"))
    assert found is not None
    assert found.verdict is not None
    wanted = (at("Thu 09:55"), at("Thu 10:00"), "met") if thorough else (None, at("Thu 09:00"), "broken")
    assert (found.cleaned_at, found.since, found.verdict.status) == wanted
    assert found.until == wanted[1] + timedelta(hours=4)


def test_clean_that_is_not_over_counts_for_nothing_yet() -> None:
    state = _cleaned_and_run_again(Upkeep.FULL, 20)
    clean, again = TaskId("churn.clean.S1"), TaskId("S1.churn")
    in_hand = replace(state.record(clean), status=TaskStatus.IN_HAND, finished_at=None)
    tasks = {task: record for task, record in state.tasks.items() if task != again} | {clean: in_hand}
    state = replace(state, tasks=tasks)
    found = in_use(state, _churn(Script(state=state)), at("Thu 09:50"))
    assert found is not None
    assert (found.cleaned_at, found.since) == (None, at("Thu 09:00"))


def test_run_on_another_machine_than_planned_counts_for_that_one() -> None:
    state = _cleaned_and_run_again(Upkeep.FULL, 20)
    again = TaskId("S1.churn")
    moved = replace(state.record(again), equipment=EquipmentId("churn-2"))
    state = replace(state, tasks={**state.tasks, again: moved})
    machine = _churn(Script(state=state))
    here, there = (
        in_use(state, one, at("Thu 10:30")) for one in (machine, machine.model_copy(update={"id": "churn-2"}))
    )
    assert here is not None
    assert there is not None
    assert (here.since, here.until, there.since) == (None, None, at("Thu 10:00"))


def test_gate_stays_open_for_what_is_no_run_and_where_only_the_limit_names_an_interval() -> None:
    late = at("Thu 15:01")
    script, by_limit = _churning(360), _churning(None)
    assert script.state.plan is not None
    run, clean = (next(t for t in script.state.plan.tasks if t.id == one) for one in ("B1.churn", "churn.clean.S1"))
    assert [gate.met for gate in cleaning_gate(script.state, run, run.equipment, late)] == [False]
    assert cleaning_gate(script.state, clean, clean.equipment, late) == ()
    assert cleaning_gate(by_limit.state, run, run.equipment, late) == ()


def test_machine_is_clean_before_there_is_a_plan() -> None:
    state = replace(_churning(360).state, plan=None)
    found = in_use(state, _churn(Script(state=state)), at("Thu 12:00"))
    assert found is not None
    assert (found.cleaned_at, found.since, found.verdict, found.every_min) == (None, None, None, 360)
