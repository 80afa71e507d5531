"""Start gates: which reading is judged, and for whom a shut gate stays shut."""

from datetime import timedelta

import pytest

from orchestrator.core import gates
from orchestrator.core.events import GateEvidence
from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import TaskLink, WindowBreak
from orchestrator.core.models.health import HealthFinding, Sign
from tests.core.script import Script, cook, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

CHURN = TaskId("B1.churn")


def judged(script: Script, when: str = "Thu 09:00") -> tuple[GateEvidence, ...]:
    plan = script.state.plan
    assert plan is not None
    return gates.judge(script.state, script.facts, plan.task(CHURN), at(when))


@pytest.mark.parametrize(("celsius", "met"), [(3.9, True), (4.0, True), (4.01, False)])
def test_gate_before_is_judged_where_the_food_was_kept(celsius: float, met: bool) -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.reads("freezer-air", "freezer", celsius=-20)
    script.reads("fridge-air", "fridge", celsius=celsius)
    assert [(gate.met, gate.celsius) for gate in judged(script)] == [(met, celsius)]


def test_gate_with_two_probes_in_one_place_takes_the_worse() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.reads("fridge-air", "fridge", celsius=3.0)
    script.reads("fridge-core", "fridge", celsius=4.4)
    assert [(gate.met, gate.celsius) for gate in judged(script)] == [(False, 4.4)]


@pytest.mark.parametrize(
    ("readings", "met", "celsius"),
    [
        ({"fridge-air": 60.0}, True, 60.0),
        ({"fridge-air": 59.9}, False, 59.9),
        ({"fridge-air": 61.0, "fridge-core": 59.5}, False, 59.5),
    ],
    ids=["as warm as asked", "a tenth short", "the colder of two"],
)
def test_gate_that_asks_for_warmth_takes_the_coldest(readings: dict[str, float], met: bool, celsius: float) -> None:
    recipes = [r.model_dump(mode="json") for r in small_kitchen().recipes]
    recipes[1]["steps"][0]["gates"] = [{"at_least": 60, "says": "Base at least 60 °C"}]
    script = with_base_aged(in_a_planned_kitchen(recipes=recipes))
    for probe, value in readings.items():
        script.reads(probe, "fridge", celsius=value)
    assert [(gate.met, gate.celsius) for gate in judged(script)] == [(met, celsius)]


def test_gate_is_not_judged_by_a_probe_that_is_silent() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.reads("fridge-air", "fridge", celsius=3.0, silent_since=at("Thu 08:00"))
    assert judged(script) == (GateEvidence(says="Base at most 4 °C", met=None),)


def test_gate_prefers_a_fresh_reading_by_hand() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.reads("fridge-air", "fridge", celsius=5.5)
    script.give("Thu 08:50", "enter_temperature", task=CHURN, celsius=3.1)
    assert [(gate.met, gate.celsius) for gate in judged(script, "Thu 09:05")] == [(True, 3.1)]
    assert [(gate.met, gate.celsius) for gate in judged(script, "Thu 09:06")] == [(False, 5.5)]


def test_gate_of_the_machine_is_judged_on_the_machine_chosen() -> None:
    recipes = [r.model_dump(mode="json") for r in small_kitchen().recipes]
    recipes[1]["steps"][0]["gates"] = [{"at_most": -10, "of": "equipment", "says": "Churn at most −10 °C"}]
    script = with_base_aged(in_a_planned_kitchen(recipes=recipes))
    plan = script.state.plan
    assert plan is not None
    script.reads("churn-air", "churn", celsius=-8)
    script.reads("churn-2-air", "churn-2", celsius=-14)
    task, now = plan.task(CHURN), at("Thu 09:00")
    assert [gate.met for gate in gates.judge(script.state, script.facts, task, now)] == [False]
    other = EquipmentId("churn-2")
    assert [gate.met for gate in gates.judge(script.state, script.facts, task, now, other)] == [True]


def test_safety_is_a_critical_step_or_a_safety_window() -> None:
    state = in_a_planned_kitchen().state
    told = {task.id: gates.is_safety(state, task) for task in small_plan().tasks if task.kind == "work"}
    safe = {task for task, safety in told.items() if safety}
    assert safe == {"C1.cook", "C1.chill", "B1.churn"}


@pytest.mark.parametrize(
    ("link", "safe"),
    [
        ({"most": 15, "window": "safety"}, True),
        ({"least": 5, "window": "safety"}, True),
        ({"window": "safety"}, False),
        ({"most": 15, "window": "quality"}, False),
    ],
    ids=["not later than", "not sooner than", "no bounds", "a matter of quality"],
)
def test_bounded_safety_window_makes_a_step_a_matter_of_safety(link: dict[str, object], safe: bool) -> None:
    recipes = [r.model_dump(mode="json") for r in small_kitchen().recipes]
    recipes[0]["steps"][1]["critical"] = False
    state = in_a_planned_kitchen(recipes=recipes).state
    links = (TaskLink.model_validate({"after": "C1.cook", **link}),)
    assert gates.is_safety(state, small_plan().task(TaskId("C1.chill")).model_copy(update={"links": links})) is safe


def test_start_as_early_as_the_adopted_plan_names_openly_needs_no_reason() -> None:
    named = WindowBreak.model_validate(
        {
            "task": "S1.churn",
            "after": "S1.age",
            "window": "quality",
            "minutes": 60,
            "side": "too early",
            "reason": "the churn is needed",
        }
    )
    script = in_a_planned_kitchen(small_plan().model_copy(update={"breaks": (named,)}))
    cook(script, "S1.simmer", "Wed 10:30", "Wed 11:00")
    script.give("Wed 11:00", "start_task", task="S1.chill", person="early-cook")
    script.reads("ice-bath-core", "ice-bath", task="S1.chill", met_at=script.now)
    script.give("Wed 12:00", "finish_task", task="S1.chill", person="early-cook")
    script.reads("fridge-air", "fridge", celsius=3.0)
    opens = at("Wed 16:00") - timedelta(minutes=60)
    refusal = script.refused(opens - timedelta(minutes=1), "start_task", task="S1.churn", person="late-cook")
    assert refusal.status == "its window opens Wed 15:00"
    script.give(opens, "start_task", task="S1.churn", person="late-cook")


def test_gate_does_not_open_on_a_probe_that_may_not_be_believed_and_says_why() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    stuck = HealthFinding(sign=Sign.STUCK, since=at("Thu 06:00"), amount=150, limit=10, unit="minutes")
    script.reads("fridge-air", "fridge", celsius=3.1, health=(stuck,))
    why = "the probe may not be believed: stuck"
    assert judged(script) == (GateEvidence(says="Base at most 4 °C", met=None, doubt=why),)
    refusal = script.refused("Thu 09:00", "start_task", task=CHURN, person="early-cook")
    assert refusal.status == f"Base at most 4 °C: no reading, {why}"
    # Somebody who measured by hand need not wait for a probe.
    script.give("Thu 09:00", "enter_temperature", task=CHURN, celsius=3.3)
    assert [(gate.met, gate.celsius) for gate in judged(script)] == [(True, 3.3)]
