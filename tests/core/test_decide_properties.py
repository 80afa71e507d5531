"""Whatever is tapped, in whatever order: nothing raises, replay agrees, machines and done tasks are safe."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orchestrator.core.decide import Decision
from orchestrator.core.evolve import evolve
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.planning import plan_request
from orchestrator.core.state import State, TaskRecord, TaskStatus
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchens import small_kitchen
from tests.fakes.plans import small_plan

KITCHEN = small_kitchen()
PLAN = small_plan(KITCHEN)
UNARY = {machine.id for machine in KITCHEN.equipment if not machine.shared}
CREW = st.sampled_from([None, None, "early-cook", "late-cook", "manager", "night-cook"])
REASON = st.sampled_from(["", "", "asked for"])

KINDS = (
    ["start_task"] * 8
    + ["finish_task"] * 8
    + ["undo"] * 3
    + ["tick", "extend_task", "skip_task", "report_problem", "enter_temperature", "finish_tray", "record_fact"]
    + ["stop_machine", "machine_back", "decide_lot", "offer_plan", "decide_plan", "ask_replan", "acknowledge_alarm"]
    + ["shelve_alarm", "unshelve_alarm"]
)


@st.composite
def steps(draw: st.DrawFn) -> list[dict[str, Any]]:
    """Choices only; what they mean depends on the state in which they are carried out."""
    one = st.fixed_dictionaries(
        {
            "kind": st.sampled_from(KINDS),
            "wait": st.sampled_from([0, 1, 5, 20, 90, 300, 800]),
            "pick": st.integers(0, 30),
            "in_turn": st.integers(0, 4),
            "person": CREW,
            "reason": REASON,
            "value": st.sampled_from([-20.0, 3.0, 4.8, 83.0, 120.0]),
            "back": st.sampled_from([0, 0, 0, 1, 30, 800]),
        }
    )
    return draw(st.lists(one, min_size=5, max_size=40))


def some_task(script: Script, step: dict[str, Any]) -> PlannedTask:
    """Mostly one whose turn may have come, sometimes any."""
    assert script.state.plan is not None
    tasks = [t for t in script.state.plan.tasks if t.kind is not TaskKind.STAY]
    wanted = TaskStatus.IN_HAND if step["kind"] == "finish_task" else TaskStatus.WAITING
    apt = [t for t in tasks if script.of(t.id).status is wanted]
    return (apt[:2] if apt and step["in_turn"] else tasks)[
        step["pick"] % len(apt[:2] if apt and step["in_turn"] else tasks)
    ]


def shifted_plan(script: Script, minutes: int) -> Any:
    """The adopted plan with one waiting task moved: often stale, sometimes good."""
    plan = script.state.plan
    assert plan is not None
    waiting = [t for t in plan.tasks if script.of(t.id).status is TaskStatus.WAITING and t.kind is TaskKind.WORK]
    if not waiting:
        return plan
    task, shift = waiting[0], timedelta(minutes=minutes)
    spans = tuple(s.model_copy(update={"start": s.start + shift, "end": s.end + shift}) for s in task.spans)
    other = task.model_copy(update={"start": task.start + shift, "end": task.end + shift, "spans": spans})
    tasks = tuple(other if t.id == task.id else t for t in plan.tasks)
    return plan.model_copy(update={"tasks": tasks, "made_at": script.now})


def details(script: Script, step: dict[str, Any]) -> dict[str, Any]:
    """What a command of that kind needs."""
    task, pick = some_task(script, step), step["pick"]
    machine = KITCHEN.equipment[pick % len(KITCHEN.equipment)].id
    lot = ("C1", "B1", "S1", "Z9")[pick % 4]
    fact = {"probe": "ice-bath-core", "equipment": "ice-bath", "task": "C1.chill", "celsius": step["value"]}
    later = script.now + timedelta(minutes=pick * 10)
    acts = [act.seq for act in script.state.acts] or [1]
    alarms = list(script.state.alarms) or ["order_late:X"]
    proposal = script.state.proposal.seq if script.state.proposal is not None else 1
    told: dict[str, dict[str, Any]] = {
        "start_task": {"task": task.id, "override_reason": step["reason"]},
        "finish_task": {"task": task.id, "override_reason": step["reason"], "measured": {"volume_l": step["value"]}},
        "undo": {"act": acts[-1 - pick % min(3, len(acts))]},
        "extend_task": {"task": task.id, "minutes": 1 + pick},
        "skip_task": {"task": task.id, "reason": "left out"},
        "report_problem": {"task": task.id, "what": "quality", "hold_lot": pick % 2 == 0},
        "enter_temperature": {"task": task.id, "celsius": step["value"]},
        "finish_tray": {"task": task.id, "pieces": pick},
        "record_fact": {"fact": {**fact, "cooling": ("", "on course", "first leg missed")[pick % 3]}},
        "stop_machine": {"equipment": machine, "until": later if pick % 3 else None},
        "machine_back": {"equipment": machine},
        "decide_lot": {"lot": lot, "decision": ("release", "rework", "discard")[pick % 3], "reason": "tasted"},
        "offer_plan": {"plan": shifted_plan(script, pick - 10), "provisional": pick % 5 == 0},
        "decide_plan": {"proposal": proposal, "adopt": pick % 2 == 0},
        "acknowledge_alarm": {"alarm": alarms[pick % len(alarms)]},
        "shelve_alarm": {"alarm": alarms[pick % len(alarms)], "minutes": 5 + pick * 10, "reason": "known"},
        "unshelve_alarm": {"alarm": alarms[pick % len(alarms)]},
    }
    return told.get(step["kind"], {})


def ended(state: State) -> dict[str, TaskRecord]:
    """Done and skipped tasks; what was said about one afterwards does not count."""
    over = (TaskStatus.DONE, TaskStatus.SKIPPED)
    return {task: replace(record, problems=()) for task, record in state.tasks.items() if record.status in over}


def assert_safe(before: State, after: State, kind: str) -> None:
    on: dict[str, list[str]] = {}
    for task, record in after.tasks.items():
        if record.status is TaskStatus.IN_HAND and record.equipment in UNARY:
            on.setdefault(str(record.equipment), []).append(task)
        if record.started_at is not None and record.finished_at is not None:
            assert record.finished_at >= record.started_at
    assert all(len(tasks) == 1 for tasks in on.values()), on
    if kind != "undo":
        assert ended(before).items() <= ended(after).items()


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(steps())
def test_any_commands_never_raise_and_keep_the_kitchen_safe(taps: list[dict[str, Any]]) -> None:
    script = in_a_planned_kitchen()
    now = script.now
    for step in taps:
        now += timedelta(minutes=step["wait"])
        before = script.state
        tapped = {"tapped_at": now - timedelta(minutes=step["back"])} if step["back"] else {}
        outcome = script.try_(now, step["kind"], person=step["person"], **tapped, **details(script, step))
        if not isinstance(outcome, Decision):
            assert script.state is before
            assert outcome.thing
            assert outcome.status
            assert outcome.remedy
        assert_safe(before, script.state, step["kind"])
    state = State()
    for record in script.log:
        state = evolve(state, record)
    assert state == script.state
    plan_request(state, now)


@pytest.mark.parametrize("person", ["early-cook", None])
def test_a_whole_week_in_the_plans_order_is_carried_out(person: str | None) -> None:
    script = in_a_planned_kitchen()
    script.reads("fridge-air", "fridge", celsius=3.0)
    events = []
    for task in PLAN.tasks:
        if task.kind is not TaskKind.STAY:
            events += [(task.end, 0, "finish_task", task), (task.start, 1, "start_task", task)]
    for when, _, kind, task in sorted(events, key=lambda e: (e[0], e[1])):
        what: dict[str, Any] = {}
        if kind == "finish_task":
            probe = {"hob-1": "hob-1-core", "ice-bath": "ice-bath-core"}.get(task.equipment or "")
            if probe is not None:
                script.reads(probe, str(task.equipment), task=task.id, celsius=5.0, met_at=when)
            what = {"measured": {"volume_l": 4.8}}
        script.give(when, kind, task=task.id, person=person, **what)
    statuses = {script.of(task.id).status for task in PLAN.tasks}
    assert statuses == {TaskStatus.DONE}
    assert script.state.lots == {}
    assert script.state.revision == 1
