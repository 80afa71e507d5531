"""Small changes of the plan made by hand, and the rules that they break."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from orchestrator.core.check import check
from orchestrator.core.ids import TaskId
from orchestrator.core.models import Plan, PlanRequest, TaskLink
from tests.fakes.kitchens import small_kitchen
from tests.fakes.plans import small_plan

KITCHEN = small_kitchen()
PLAN = small_plan(KITCHEN)
REQUEST = PlanRequest(kitchen=KITCHEN, now=KITCHEN.planning_start)

Change = Callable[[Plan], Plan]


def rules(plan: Plan, request: PlanRequest = REQUEST) -> set[str]:
    return {violation.rule for violation in check(plan, request)}


def changed(plan: Plan, task: str, **update: Any) -> Plan:
    """The plan with one task changed."""
    tasks = tuple(t.model_copy(update=update) if t.id == task else t for t in plan.tasks)
    assert tasks != plan.tasks, f"nothing changed in {task}"
    return plan.model_copy(update={"tasks": tasks})


def moved(plan: Plan, task: str, minutes: int) -> Plan:
    """The plan with one task, and its hands, moved."""
    planned, shift = plan.task(TaskId(task)), timedelta(minutes=minutes)
    spans = tuple(s.model_copy(update={"start": s.start + shift, "end": s.end + shift}) for s in planned.spans)
    return changed(plan, task, start=planned.start + shift, end=planned.end + shift, spans=spans)


def without(plan: Plan, task: str) -> Plan:
    return plan.model_copy(update={"tasks": tuple(t for t in plan.tasks if t.id != task)})


def linked(plan: Plan, task: str, after: str) -> Plan:
    """The task waits for another one too."""
    return changed(plan, task, links=(*plan.task(TaskId(task)).links, TaskLink(after=TaskId(after))))


def unlinked(plan: Plan, task: str, after: str) -> Plan:
    """The task no longer waits for another one."""
    return changed(plan, task, links=tuple(k for k in plan.task(TaskId(task)).links if k.after != after))


def crew(plan: Plan, task: str, *who: str) -> Plan:
    spans = tuple(span.model_copy(update={"crew": who}) for span in plan.task(TaskId(task)).spans)
    return changed(plan, task, spans=spans)


def stretched(plan: Plan, task: str, minutes: int) -> Plan:
    """Ends later, hands throughout included."""
    planned = plan.task(TaskId(task))
    end = planned.end + timedelta(minutes=minutes)
    spans = tuple(s.model_copy(update={"end": end}) if s.end == planned.end else s for s in planned.spans)
    return changed(plan, task, end=end, spans=spans)


def batch(plan: Plan, lot: str, **update: Any) -> Plan:
    batches = tuple(b.model_copy(update=update) if b.lot == lot else b for b in plan.batches)
    return plan.model_copy(update={"batches": batches})


def outlook(plan: Plan, order: str, **update: Any) -> Plan:
    outlooks = tuple(o.model_copy(update=update) if o.order == order else o for o in plan.outlooks)
    return plan.model_copy(update={"outlooks": outlooks})
