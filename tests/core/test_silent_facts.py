"""A probe that was silent where nobody could record it: when its alarm is over is on record all the same."""

from datetime import UTC, datetime, timedelta

from orchestrator.core.commands import RecordFact
from orchestrator.core.decide import decide
from orchestrator.core.decide.case import Decision
from orchestrator.core.events import FactRecorded, KitchenImported, Recorded
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import CommandId
from orchestrator.core.models import ProbeFact
from orchestrator.core.state import State
from tests.fakes.kitchens import small_kitchen

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


def recorded(state: State, fact: ProbeFact) -> tuple[State, int]:
    """The state after a fact was handed in, and how often it went on record."""
    name = CommandId(f"fact-{state.seq}")
    decision = decide(state, RecordFact(command_id=name, fact=fact), AT, {})
    assert isinstance(decision, Decision)
    for event in decision.events:
        state = evolve(state, Recorded(seq=state.seq + 1, at=AT, command_id=name, event=event))
    return state, sum(isinstance(event, FactRecorded) for event in decision.events)


def test_fact_that_differs_only_in_when_it_was_heard_again_goes_on_record() -> None:
    imported = KitchenImported(kitchen=small_kitchen())
    state = evolve(State(), Recorded(seq=1, at=AT, command_id=CommandId("import"), event=imported))
    probe = small_kitchen().probes[0]
    heard = ProbeFact(probe=probe.id, equipment=probe.equipment, celsius=3.0, measured_at=AT)
    state, first = recorded(state, heard)
    later = heard.model_copy(update={"measured_at": AT + timedelta(minutes=1)})
    state, second = recorded(state, later)
    state, third = recorded(state, later.model_copy(update={"heard_since": AT}))
    assert (first, second, third) == (1, 0, 1)
    assert state.facts[probe.id].heard_since == AT
