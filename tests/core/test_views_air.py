"""Air and food are told apart: the air of a machine never stands where a cook reads the food."""

from dataclasses import replace

from orchestrator.core import views
from orchestrator.core.ids import ProbeId, TaskId
from orchestrator.core.models import ProbeFact
from orchestrator.core.state import State
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing, begun, planned

HOB, COOK = ProbeId("hob-1-core"), "C1.cook"


def _with_air_at_the_hob(state: State) -> State:
    assert state.kitchen is not None
    probes = tuple(p.model_copy(update={"reads": "air"}) if p.id == HOB else p for p in state.kitchen.probes)
    return replace(state, kitchen=state.kitchen.model_copy(update={"probes": probes}))


def _celsius(state: State, now: str, task: str, fact: ProbeFact) -> float | None:
    found = views.task_view(state, {fact.probe: fact}, at(now), TaskId(task)).temperature
    return None if found is None else found.celsius


def test_work_shows_the_food_and_never_the_air_of_its_machine() -> None:
    cooking = begun(planned(), COOK, "Wed 08:00")
    fact = ProbeFact(probe=HOB, equipment="hob-1", celsius=150.0, measured_at=at("Wed 08:10"))
    assert _celsius(cooking, "Wed 08:10", COOK, fact) == 150.0
    assert _celsius(_with_air_at_the_hob(cooking), "Wed 08:10", COOK, fact) is None


def test_stay_in_a_store_shows_the_air_it_stands_in() -> None:
    fact = ProbeFact(probe=ProbeId("fridge-air"), equipment="fridge", celsius=3.1, measured_at=at("Wed 12:00"))
    assert _celsius(base_ageing(), "Wed 12:00", "C1.age.B1", fact) == 3.1
