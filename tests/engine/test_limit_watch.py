"""The limit of a step in hand, judged on its probe's curve."""

import dataclasses
from datetime import timedelta
from typing import Literal

import pytest

from orchestrator.core.ids import ProbeId
from orchestrator.core.models import Kitchen, LimitUse
from orchestrator.core.models.limit import LimitId
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.engine.assess import Assessor
from orchestrator.kitchen.shipped import shipped_limits
from orchestrator.ports.event_log import Reading
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan


def _kitchen(unit: Literal["C", "F"]) -> Kitchen:
    """The small kitchen, whose cooking is judged by the rows for a mix."""
    plain = small_kitchen()
    use = LimitUse(id=LimitId("frozen-dessert-mix"), ceiling=85.0)
    recipes = tuple(
        recipe.model_copy(
            update={
                "steps": tuple(
                    step.model_copy(update={"limit": use}) if step.process == "cook" else step for step in recipe.steps
                )
            }
        )
        for recipe in plain.recipes
    )
    limits = shipped_limits().limits
    return plain.model_copy(update={"recipes": recipes, "limits": limits, "temperature_unit": unit})


@pytest.mark.parametrize(
    ("unit", "celsius", "status"),
    [
        ("C", 80.0, "met"),
        ("C", 79.9, "not yet"),
        # 175 °F is 79.44 °C: enough in the °F column (175 °F), not in the °C column (80 °C). 21 CFR 1240.61(c).
        ("F", (175 - 32) / 1.8, "met"),
        ("F", (174.9 - 32) / 1.8, "not yet"),
        ("C", (175 - 32) / 1.8, "not yet"),
    ],
)
def test_limit_is_judged_in_the_column_of_the_kitchens_unit(
    unit: Literal["C", "F"], celsius: float, status: str
) -> None:
    kitchen, begun = _kitchen(unit), at("Wed 07:00")
    plan = small_plan(kitchen)
    task = next(t for t in plan.tasks if t.process == "cook")
    record = TaskRecord(status=TaskStatus.IN_HAND, started_at=begun, equipment=task.equipment)
    state = dataclasses.replace(State(seq=1, kitchen=kitchen, plan=plan), seq=2, tasks={task.id: record})
    assessor = Assessor(kitchen)
    for second in (0, 25):
        instant = begun + timedelta(seconds=60 + second)
        fact = assessor.fold(Reading(ProbeId("hob-1-core"), celsius, instant, instant), state)
    said = fact.verdict
    assert said is not None
    assert (said.status, said.row, said.unit) == (status, "25-s", unit)
    assert said.applied.startswith("21 CFR 1240.61(c); 7 CFR 58.635")
    assert said.within_tolerance
    assert [instant for instant, _ in said.readings] == [begun + timedelta(seconds=s) for s in (60, 85)]


def test_reading_above_the_ceiling_of_the_limit_breaks_it() -> None:
    kitchen, begun = _kitchen("C"), at("Wed 07:00")
    plan = small_plan(kitchen)
    task = next(t for t in plan.tasks if t.process == "cook")
    record = TaskRecord(status=TaskStatus.IN_HAND, started_at=begun, equipment=task.equipment)
    state = dataclasses.replace(State(seq=1, kitchen=kitchen, plan=plan), seq=2, tasks={task.id: record})
    assessor = Assessor(kitchen)
    instant = begun + timedelta(minutes=1)
    fact = assessor.fold(Reading(ProbeId("hob-1-core"), 85.1, instant, instant), state)
    assert fact.verdict is not None
    assert (fact.verdict.status, fact.verdict.why, fact.verdict.at) == ("broken", "ceiling", instant)
