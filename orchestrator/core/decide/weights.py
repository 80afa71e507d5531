"""Weights entered while something simmers down or dries: kept with what they let expect."""

from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.commands import EnterWeight
from orchestrator.core.decide.case import Case, Decision, ready, with_replan
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import WeightEntered
from orchestrator.core.models import PlannedTask
from orchestrator.core.pace import minutes_here
from orchestrator.core.paces import earlier_reductions, scale_of
from orchestrator.core.planning import expected_end
from orchestrator.core.plausible_amounts import first_weight_doubt, weight_doubt
from orchestrator.core.state import TaskStatus
from orchestrator.core.task_lifecycle import TaskAct
from orchestrator.core.weighing import Reduced, reduced

_HEAVIER: Final = 1.03
"""What loses water does not gain weight; more than this above the first weight is a slip, or the pan was weighed with
it. A figure of ours."""
_MOVED: Final = timedelta(minutes=5)
"""By so much the expected end must move for a new plan."""


def weigh(case: Case, command: EnterWeight) -> Decision | Refusal:
    """One more weight of a step in hand."""
    task = ready(case, command.task, TaskAct.MEASURE)
    if isinstance(task, Refusal):
        return task
    record, step = case.state.record(task.id), case.known.step(task)
    if record.status is not TaskStatus.IN_HAND:
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status=record.status.value, remedy="start it first")
    if step is None or step.reduce_to is None:
        status, remedy = "it is not followed by weight", "give its step reduce_to in the recipe, or report a problem"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status=status, remedy=remedy)
    if record.weighings and command.kilograms > record.weighings[0][1] * _HEAVIER:
        first = record.weighings[0][1]
        status = f"{command.kilograms:.4g} kg is more than it weighed first, {first:.4g} kg"
        remedy = "weigh without the pan, as the first time; was the first weight wrong, take that back"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=task.id, status=status, remedy=remedy)
    if not command.sure:
        doubt = (
            weight_doubt(task.id, command.kilograms, record.weighings[0][1] * step.reduce_to)
            if record.weighings
            else first_weight_doubt(task.id, command.kilograms, task.quantity, step.reduce_to)
        )
        if doubt is not None:
            return doubt
    weighings = (*(w for w in record.weighings if w[0] < case.at), (case.at, command.kilograms))
    earlier = earlier_reductions(case.state, task, step.reduce_to)
    found = reduced(step, weighings, minutes_here(case.state, task), earlier, scale_of(case.state, task))
    assert found is not None  # the step is followed by weight, and was weighed now
    event = _entered(case, task, command, found)
    return with_replan(case, (event,), _later(case, task, event))


def _entered(case: Case, task: PlannedTask, command: EnterWeight, found: Reduced) -> WeightEntered:
    def after(minutes: float | None) -> datetime | None:
        return None if minutes is None else case.at + timedelta(minutes=minutes)

    arrival = found.arrival
    return WeightEntered(
        task=task.id,
        at=case.at,
        person=case.person,
        kilograms=command.kilograms,
        expected_from=None if arrival is None else after(arrival.soonest_min),
        expected_to=None if arrival is None else after(arrival.latest_min),
        expected_end=None if arrival is None else after(arrival.likely_min),
        no_arrival=found.why_none,
        earlier_runs=found.earlier_runs,
    )


def _later(case: Case, task: PlannedTask, event: WeightEntered) -> str:
    """That it will end at another time than was planned with; empty when it will not."""
    if event.expected_end is None:
        return ""
    usual = expected_end(case.state, task, case.at)
    if abs(event.expected_end - usual) < _MOVED or max(event.expected_end, usual) <= task.end:
        return ""
    return f"{task.title}: its weight is expected {case.clock(event.expected_end)}"
