"""Time since cleaning: FDA Food Code 2022, 4-602.11(C), 4 h; the machine's own interval where it names one."""

from datetime import timedelta

import pytest

from orchestrator.core.cleaned import cleaning_gate, in_use
from orchestrator.core.events import TaskStarted
from orchestrator.core.models import Equipment
from orchestrator.core.models.kitchen import Cleaning
from orchestrator.kitchen.shipped import shipped_limits
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at, small_kitchen


def _churning(every: int | None) -> Script:
    """The base is aged, and the churn runs since Thursday 09:00."""
    machines = tuple(
        e.model_copy(update={"cleaning": Cleaning(rinse=10, full=30, skill="cleaning", every=every)})
        if e.id == "churn"
        else e
        for e in small_kitchen().equipment
    )
    script = with_base_aged(in_a_planned_kitchen(equipment=machines, limits=shipped_limits().limits))
    script.give("Thu 09:00", "start_task", task="B1.churn", person="early-cook")
    return script


def _churn(script: Script) -> Equipment:
    assert script.state.kitchen is not None
    return next(e for e in script.state.kitchen.equipment if e.id == "churn")


@pytest.mark.parametrize(
    ("every", "hours", "status", "own"),
    [(None, 4, "met", False), (None, 4.001, "broken", False), (360, 6, "met", True), (360, 6.001, "broken", True)],
)
def test_machine_in_use_is_judged_by_its_own_interval_else_by_four_hours(
    every: int | None, hours: float, status: str, own: bool
) -> None:
    script = _churning(every)
    found = in_use(script.state, _churn(script), at("Thu 09:00") + timedelta(hours=hours))
    assert found is not None
    assert found.verdict is not None
    assert (found.since, found.verdict.status, found.own) == (at("Thu 09:00"), status, own)
    assert found.verdict.applied.startswith("FDA Food Code 2022, 4-602.11(C)")


def test_machine_that_was_not_used_since_has_nothing_to_be_judged() -> None:
    script = with_base_aged(in_a_planned_kitchen(limits=shipped_limits().limits))
    machine = small_kitchen().equipment[0].model_copy(update={"cleaning": Cleaning(rinse=1, full=2, skill="cleaning")})
    found = in_use(script.state, machine.model_copy(update={"id": "another"}), script.now)
    assert found is not None
    assert (found.since, found.verdict) == (None, None)


def test_no_machine_is_judged_in_a_kitchen_without_the_limit() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    assert all(in_use(script.state, machine, script.now) is None for machine in small_kitchen().equipment)


def test_machine_past_its_interval_shuts_the_gate_of_the_next_run() -> None:
    """The churn's first run of Thursday is its own evidence: it was not in use before."""
    script = _churning(360)
    started = next(r.event for r in script.log if isinstance(r.event, TaskStarted) and r.event.task == "B1.churn")
    assert all("cleaned" not in gate.says for gate in started.gates)
    assert script.state.plan is not None
    task = next(t for t in script.state.plan.tasks if t.id == "B1.churn")
    gates = [cleaning_gate(script.state, task, task.equipment, at(when)) for when in ("Thu 14:59", "Thu 15:01")]
    assert [[(gate.says, gate.met) for gate in found] for found in gates] == [
        [("Churn is to be cleaned by Thu 15:00", True)],
        [("Churn was to be cleaned by Thu 15:00", False)],
    ]
