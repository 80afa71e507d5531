"""Several stays in one store: each is judged by its own limit, whatever its neighbours ask.

FDA Food Code 2022, 3-501.11 (from memory): frozen food is kept frozen; the limit says at −18 °C or below.
"""

import dataclasses
from datetime import timedelta

import pytest

from orchestrator.core.ids import ProbeId, TaskId
from orchestrator.core.models import Kitchen, LimitUse, ProbeFact
from orchestrator.core.models.limit import LimitId
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.engine.assess import Assessor
from orchestrator.engine.stay_watch import StayWatches
from orchestrator.kitchen.shipped import shipped_limits
from orchestrator.ports.event_log import Reading
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

BEGUN = at("Thu 10:30")
B1, S1 = TaskId("B1.harden.SAT-STALL"), TaskId("S1.harden.SUN-CAFE")


def hardening_by(limits: dict[str, str]) -> Kitchen:
    """The small kitchen; the hardening step of a recipe names a limit."""
    plain = small_kitchen()
    recipes = []
    for recipe in plain.recipes:
        use = LimitUse(id=LimitId(limits[recipe.id])) if recipe.id in limits else None
        steps = tuple(s.model_copy(update={"limit": use}) if s.id == "harden" else s for s in recipe.steps)
        recipes.append(recipe.model_copy(update={"steps": steps}))
    return plain.model_copy(update={"recipes": tuple(recipes), "limits": shipped_limits().limits})


def both_in_hand(kitchen: Kitchen) -> State:
    plan = small_plan(kitchen)
    record = TaskRecord(status=TaskStatus.IN_HAND, started_at=BEGUN, equipment=plan.task(B1).equipment)
    state = State(seq=1, kitchen=kitchen, plan=plan)
    return dataclasses.replace(state, seq=2, tasks={B1: record, S1: record})


def warm(assessor: Assessor, state: State, celsius: float, minutes: int) -> ProbeFact:
    """The air of the freezer, a reading every five minutes."""
    for minute in range(1, minutes, 5):
        instant = BEGUN + timedelta(minutes=minute)
        fact = assessor.fold(Reading(ProbeId("freezer-air"), celsius, instant, instant), state)
    return fact


@pytest.mark.parametrize("first", ["hardening-core", "no-such-limit"])
def test_stay_beside_one_that_air_cannot_judge_is_judged(first: str) -> None:
    kitchen = hardening_by({"basil-custard": first, "damson-sorbet": "frozen-holding"})
    fact = warm(Assessor(kitchen), both_in_hand(kitchen), -12.0, 180)
    assert [(kept.task, kept.verdict.limit, kept.verdict.status) for kept in fact.kept] == [
        (S1, "frozen-holding", "broken")
    ]


def test_two_stays_in_one_freezer_have_a_verdict_each() -> None:
    kitchen = hardening_by({"basil-custard": "frozen-holding", "damson-sorbet": "frozen-holding"})
    for celsius, status in ((-20.0, "met"), (-12.0, "broken")):
        fact = warm(Assessor(kitchen), both_in_hand(kitchen), celsius, 180)
        assert [(kept.task, kept.verdict.status, kept.verdict.of) for kept in fact.kept] == [
            (B1, status, "air"),
            (S1, status, "air"),
        ]


def test_stay_without_a_limit_is_watched_by_nobody_but_the_store() -> None:
    kitchen = hardening_by({})
    fact = warm(Assessor(kitchen), both_in_hand(kitchen), -12.0, 60)
    assert fact.kept == ()
    assert fact.outside_since == BEGUN + timedelta(minutes=1)


def test_after_a_restart_readings_count_from_the_beginning_of_the_oldest_stay() -> None:
    kitchen = hardening_by({"basil-custard": "frozen-holding", "damson-sorbet": "frozen-holding"})
    state, watches = both_in_hand(kitchen), StayWatches(kitchen)
    sooner = dataclasses.replace(state.record(B1), started_at=BEGUN - timedelta(hours=5))
    state = dataclasses.replace(state, seq=3, tasks={**state.tasks, B1: sooner})
    fridge, freezer = (next(p for p in kitchen.probes if p.id == name) for name in ("fridge-air", "freezer-air"))
    # A freezer's defrosts are learned from a day and a half, a stay is followed for three days at most.
    for hours, back in ((10, 36), (50, 55), (90, 72)):
        now = BEGUN + timedelta(hours=hours)
        assert watches.resume_from(freezer, state, now) == now - timedelta(hours=back)
        assert watches.resume_from(fridge, state, now) == now
