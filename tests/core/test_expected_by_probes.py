"""What a probe expects of work in hand moves what follows, and what the planner is told."""

from dataclasses import replace
from datetime import datetime

import pytest

from orchestrator.core.commands import RecordFact
from orchestrator.core.decide import decide
from orchestrator.core.errors import Refusal
from orchestrator.core.events import FactRecorded, ReplanWanted
from orchestrator.core.ids import CommandId, EquipmentId, ProbeId, TaskId
from orchestrator.core.models import ProbeFact
from orchestrator.core.planning import plan_request
from orchestrator.core.projection import project
from orchestrator.core.state import State
from tests.fakes.kitchens import at
from tests.fakes.states import begun, done, planned

NOW = at("Wed 09:00")


def _fact(expected: datetime | None, **more: object) -> ProbeFact:
    fact = ProbeFact(probe=ProbeId("ice-bath-core"), equipment=EquipmentId("ice-bath"), task=TaskId("C1.chill"))
    return fact.model_copy(update={"expected_end": expected, **more})


def _chilling(fact: ProbeFact | None = None) -> State:
    state = begun(done(planned(), "C1.cook", "Wed 08:00", "Wed 08:40"), "C1.chill", "Wed 08:45")
    return state if fact is None else replace(state, facts={fact.probe: fact})


def test_chill_that_will_take_longer_ends_later_for_the_planner_and_moves_what_follows() -> None:
    chill, age, late = TaskId("C1.chill"), TaskId("C1.age.B1"), at("Wed 11:45")
    usual, moved = (project(_chilling(fact), NOW) for fact in (None, _fact(late)))
    assert usual[chill].end < late
    assert (moved[chill].end, moved[age].start) == (late, late)
    ends = {actual.task: actual.end for actual in plan_request(_chilling(_fact(late)), NOW).actuals}
    assert ends[chill] == late


def test_target_reached_or_expected_early_leaves_the_usual_end() -> None:
    usual = project(_chilling(), NOW)[TaskId("C1.chill")].end
    for fact in (_fact(at("Wed 09:10")), _fact(at("Wed 11:45"), reached_at=at("Wed 08:59"))):
        assert project(_chilling(fact), NOW)[TaskId("C1.chill")].end == usual


@pytest.mark.parametrize(("expected", "asks"), [("Wed 11:45", True), ("Wed 09:10", False)])
def test_fact_that_moves_an_end_past_its_plan_asks_for_a_new_one(expected: str, asks: bool) -> None:
    command = RecordFact(command_id=CommandId("f"), fact=_fact(at(expected)))
    decision = decide(_chilling(), command, NOW, {})
    assert not isinstance(decision, Refusal)
    assert any(isinstance(event, FactRecorded) for event in decision.events)
    assert any(isinstance(event, ReplanWanted) for event in decision.events) == asks
