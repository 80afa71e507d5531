"""A curve that reaches its target goes on record, and the next run of the same step leans on it."""

import dataclasses
import math
from datetime import timedelta

from orchestrator.core.ids import EquipmentId, ProbeId, RecipeId, StepId, TaskId
from orchestrator.core.models import ProbeFact
from orchestrator.core.pace_events import PaceLearned
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.engine.assess import Assessor
from orchestrator.ports.event_log import Reading
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

KITCHEN = small_kitchen()
PLAN = small_plan(KITCHEN)
COOK = PLAN.task(TaskId("C1.cook"))
BEGUN = at("Wed 07:00")
STATE = dataclasses.replace(
    State(seq=2, kitchen=KITCHEN, plan=PLAN),
    tasks={COOK.id: TaskRecord(status=TaskStatus.IN_HAND, started_at=BEGUN, equipment=COOK.equipment)},
)


def _heated(assessor: Assessor, state: State, until: float) -> ProbeFact:
    for number in range(round(until * 6)):
        minute = number / 6.0
        celsius = round(130.0 - 115.0 * math.exp(-0.03 * minute), 2)
        instant = BEGUN + timedelta(minutes=minute)
        fact = assessor.fold(Reading(ProbeId("hob-1-core"), celsius, instant, instant), state)
    return fact


def test_curve_that_reaches_its_target_is_finished_once_and_not_before() -> None:
    assessor = Assessor(KITCHEN)
    fact = _heated(assessor, STATE, 20.0)
    assert fact.reached_at is None
    assert fact.earlier_runs == 0
    assert assessor.finished() == []
    assessor = Assessor(KITCHEN)
    fact = _heated(assessor, STATE, 45.0)
    (curve,) = assessor.finished()
    assert (curve.task, curve.equipment, curve.reached_at) == (COOK.id, EquipmentId("hob-1"), fact.reached_at)
    assert assessor.finished() == []


def test_next_run_leans_on_the_earlier_and_says_how_many() -> None:
    assessor = Assessor(KITCHEN)
    _heated(assessor, STATE, 45.0)
    (curve,) = assessor.finished()
    runs = tuple(
        PaceLearned(
            task=TaskId(f"old-{n}"), equipment=curve.equipment, recipe=RecipeId("custard-base"), step=StepId("cook"),
            at=BEGUN - timedelta(days=n), target_c=curve.target_c, scale=1.0, bands=curve.bands,
        )
        for n in range(6)
    )  # fmt: skip
    known = dataclasses.replace(STATE, paces={(curve.equipment, RecipeId("custard-base"), StepId("cook")): runs})
    early = 8.0
    plain, learned = _heated(Assessor(KITCHEN), STATE, early), _heated(Assessor(KITCHEN), known, early)
    assert learned.earlier_runs == 6
    assert learned.arrival_from is not None
    assert learned.arrival_to is not None
    assert learned.arrival_from <= curve.reached_at <= learned.arrival_to
    if plain.arrival_from is not None and plain.arrival_to is not None:
        assert learned.arrival_to - learned.arrival_from < plain.arrival_to - plain.arrival_from
