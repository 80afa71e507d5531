"""How long work takes where it is done: the recipe's minutes at the speed of the machine, and as crowded as planned."""

from datetime import datetime, timedelta
from math import ceil

from orchestrator.core.models import Duration, PlannedTask, TaskKind
from orchestrator.core.plan_index import kitchen_index
from orchestrator.core.state import State


def minutes_here(state: State, task: PlannedTask) -> Duration:
    """Shortest, usual and longest minutes of a task on its machine.

    Args:
        state: What is known; where the task has begun, the machine it was begun on counts, not the planned one.
        task: A task of the plan.

    Returns:
        Whole minutes, rounded up, without what a cook added. The recipe's own for stays, for clean-downs and for
        work without a machine.
    """
    record = state.tasks.get(task.id)
    where = (record.equipment if record is not None else None) or task.equipment
    if task.kind is not TaskKind.WORK or where is None or state.kitchen is None:
        return task.duration
    machine = kitchen_index(state.kitchen).equipment.get(where)
    factor = task.crowded / (1.0 if machine is None else machine.speed)
    if factor == 1.0:
        return task.duration
    written = task.duration
    shortest, usual, longest = (ceil(n * factor - 1e-6) for n in (written.shortest, written.usual, written.longest))
    return Duration(shortest=shortest, usual=usual, longest=longest)


def usual_length(state: State, task: PlannedTask) -> timedelta:
    """Usual minutes of a task on its machine, and what a cook added to them."""
    return timedelta(minutes=minutes_here(state, task).usual + state.record(task.id).extended_min)


def expected_by_probes(state: State, task: PlannedTask) -> datetime | None:
    """When probes, or weights, expect a task in hand to be there; none where they say nothing."""
    facts = [f for f in state.facts.values() if f.task == task.id and f.reached_at is None]
    ends = [f.expected_end for f in facts if f.expected_end is not None]
    weights = state.record(task.id).weight_expected
    if weights is not None and weights.likely is not None:
        ends.append(weights.likely)
    return max(ends, default=None)


def end_in_hand(state: State, task: PlannedTask, started: datetime) -> datetime:
    """When work in hand will end: after its usual minutes, later where a probe expects its target later."""
    usual = started + usual_length(state, task)
    expected = expected_by_probes(state, task)
    return usual if expected is None else max(usual, expected)


def longest_length(state: State, task: PlannedTask) -> timedelta:
    """Longest minutes of a task on its machine, and what a cook added to them."""
    return timedelta(minutes=minutes_here(state, task).longest + state.record(task.id).extended_min)
