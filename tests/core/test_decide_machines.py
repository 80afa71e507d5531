"""Whether a machine can take a task: room, cleanliness, and what a late tap says."""

from dataclasses import replace
from typing import Any

from orchestrator.core.errors import RefusalCode
from orchestrator.core.models import Plan
from tests.core.plan_changes import batch
from tests.core.script import at_target, cook, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan


def changed(plan: Plan, task: str, **update: Any) -> Plan:
    return plan.model_copy(
        update={"tasks": tuple(t.model_copy(update=update) if t.id == task else t for t in plan.tasks)}
    )


def test_start_tapped_before_the_task_before_ended_begins_at_that_end() -> None:
    script = in_a_planned_kitchen()
    cook(script, "S1.simmer", "Wed 10:30", "Wed 11:00")
    events = script.give("Wed 11:02", "start_task", task="S1.chill", tapped_at=at("Wed 10:59"))
    assert events[0].at == at("Wed 11:00")


def test_start_in_a_shared_machine_needs_room_for_its_load() -> None:
    equipment = [e.model_dump(mode="json") for e in small_kitchen().equipment]
    equipment[1] |= {"capacity": "8 L", "shared": True}
    plan = changed(changed(small_plan(), "C1.chill", load=5.0), "S1.chill", load=3.5)
    script = in_a_planned_kitchen(plan, equipment=equipment)
    cook(script, "S1.simmer", "Wed 07:30", "Wed 07:55")
    script.give("Wed 08:00", "start_task", task="C1.cook")
    at_target(script, "C1.cook", "hob-1-core", "hob-1", 83)
    script.give("Wed 08:40", "finish_task", task="C1.cook")
    script.give("Wed 08:45", "start_task", task="C1.chill")
    refusal = script.refused("Wed 08:50", "start_task", task="S1.chill")
    assert (refusal.code, refusal.status) == (
        RefusalCode.WRONG_STATE,
        "Ice bath holds 5 of 8; 3.5 more do not fit",
    )
    fits = changed(script.state.plan or plan, "S1.chill", load=3.0)
    script.state = replace(script.state, plan=fits)
    script.give("Wed 08:51", "start_task", task="S1.chill")


def test_start_after_a_rinse_where_a_full_clean_is_due_is_refused() -> None:
    rinse = {"shortest": 10, "usual": 10, "longest": 10}
    short = small_plan().task("churn.clean.S1").duration.model_validate(rinse)  # type: ignore[arg-type]
    script = with_base_aged(in_a_planned_kitchen(changed(small_plan(), "churn.clean.S1", duration=short)))
    cook(script, "S1.simmer", "Wed 10:30", "Wed 11:00")
    script.give("Wed 11:00", "start_task", task="S1.chill")
    at_target(script, "S1.chill", "ice-bath-core", "ice-bath", 4)
    script.give("Wed 12:00", "finish_task", task="S1.chill")
    cook(script, "B1.churn", "Thu 09:00", "Thu 09:30", measured={"volume_l": 4.7})
    cook(script, "churn.clean.S1", "Thu 09:35", "Thu 09:45")
    refusal = script.refused("Thu 10:00", "start_task", task="S1.churn", person="early-cook")
    assert refusal.remedy == "finish a full clean of 20 min first: it is never traded away"


def test_start_after_a_rinse_is_refused_where_the_run_before_was_deeper() -> None:
    told = {"basil-custard": {"colour": "deep"}, "damson-sorbet": {"colour": "pale", "allergens": ("egg", "milk")}}
    recipes = [{**recipe.model_dump(mode="json"), **told.get(recipe.id, {})} for recipe in small_kitchen().recipes]
    rinse = {"shortest": 10, "usual": 10, "longest": 10}
    short = small_plan().task("churn.clean.S1").duration.model_validate(rinse)  # type: ignore[arg-type]
    plan = batch(changed(small_plan(), "churn.clean.S1", duration=short), "S1", allergens=("egg", "milk"))
    script = with_base_aged(in_a_planned_kitchen(plan, recipes=recipes))
    cook(script, "S1.simmer", "Wed 10:30", "Wed 11:00")
    script.give("Wed 11:00", "start_task", task="S1.chill")
    at_target(script, "S1.chill", "ice-bath-core", "ice-bath", 4)
    script.give("Wed 12:00", "finish_task", task="S1.chill")
    cook(script, "B1.churn", "Thu 09:00", "Thu 09:30", measured={"volume_l": 4.7})
    cook(script, "churn.clean.S1", "Thu 09:35", "Thu 09:45")
    refusal = script.refused("Thu 10:00", "start_task", task="S1.churn", person="early-cook")
    assert refusal.status == "Churn is not clean after Churn basil custard (a deep colour was in it)"


def test_start_overloaded_or_underloaded_is_refused() -> None:
    for load, says in ((6.5, "its load is 6.5; Churn takes 2 to 6"), (1.0, "its load is 1; Churn takes 2 to 6")):
        script = with_base_aged(in_a_planned_kitchen(changed(small_plan(), "B1.churn", load=load)))
        assert script.refused("Thu 09:00", "start_task", task="B1.churn").status == says
