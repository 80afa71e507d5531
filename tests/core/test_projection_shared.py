"""One act, one projection: states that differ in nothing that a projection looks at share one, and so do those who look
ahead and those who put on record."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

from orchestrator.core import projection
from orchestrator.core.commands import EnterTemperature
from orchestrator.core.decide import Decision, decide
from orchestrator.core.due import next_due
from orchestrator.core.events import Recorded
from orchestrator.core.evolve import evolve, evolve_decided
from orchestrator.core.ids import CommandId, CrewId
from orchestrator.core.projection import UNREAD, project
from orchestrator.core.state import State, TaskStatus
from tests.browser.full_house import full_house

SEEN = full_house().snapshot()
STATE, NOW = SEEN.state, SEEN.now


class Spied:
    """A state that notes what is read of it."""

    def __init__(self, state: State) -> None:
        self._state = state
        self.read: set[str] = set()

    def __getattr__(self, name: str) -> Any:
        found = getattr(self._state, name)
        if name in State.__slots__:
            self.read.add(name)
            return found
        return getattr(type(self._state), name).__get__(self) if callable(found) else found


def test_projection_reads_nothing_of_what_its_memo_leaves_out() -> None:
    spied = Spied(STATE)
    sweep = projection._Sweep(spied, NOW)  # type: ignore[arg-type]
    sweep.over(sweep.order)
    assert sweep.end() == project(STATE, NOW)
    assert {"tasks", "plan", "kitchen", "facts", "machines"} <= spied.read
    assert spied.read & UNREAD == set()
    assert set(State.__slots__) >= UNREAD


def test_states_that_differ_in_what_is_read_have_projections_of_their_own() -> None:
    live = project(STATE, NOW)
    assert project(replace(STATE, seq=STATE.seq + 1, alarms={}, raised=(NOW,)), NOW) is live
    assert project(replace(STATE, tasks={}), NOW) != live
    assert project(STATE, NOW + timedelta(minutes=30)) is not live


def test_an_act_is_projected_twice_now_and_as_far_as_nothing_else_is_due() -> None:
    task = next(name for name, record in STATE.tasks.items() if record.status is TaskStatus.IN_HAND)
    now = NOW + timedelta(seconds=7)
    command = EnterTemperature(command_id=CommandId("warm"), task=task, celsius=58.0, person=CrewId("manager"))
    before = projection._project.cache_info().misses
    decision = decide(STATE, command, now, SEEN.facts)
    assert isinstance(decision, Decision)
    state = STATE
    for event in decision.events:
        state = evolve_decided(state, Recorded(seq=state.seq + 1, at=now, command_id=command.command_id, event=event))
    due = next_due(state, now)
    assert projection._project.cache_info().misses - before == 2
    plain = STATE
    for event in decision.events:
        plain = evolve(plain, Recorded(seq=plain.seq + 1, at=now, command_id=command.command_id, event=event))
    assert (plain, next_due(plain, now)) == (state, due)


def test_evolving_once_tells_other_records_of_one_event_apart() -> None:
    event = full_house().records[-1].event
    one = Recorded(seq=STATE.seq + 1, at=NOW, command_id=CommandId("one"), event=event)
    assert evolve_decided(STATE, one) is evolve_decided(STATE, one.model_copy())
    for other in (
        one.model_copy(update={"command_id": CommandId("two")}),
        one.model_copy(update={"at": NOW + timedelta(seconds=1)}),
    ):
        assert evolve_decided(STATE, other) == evolve(STATE, other)
