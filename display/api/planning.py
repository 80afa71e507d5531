"""What the planner is asked through the interface: why, with everything else as it is at present."""

from display.api.reading import NotThere, Query, Refused
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import TaskId
from orchestrator.core.models import Plan
from orchestrator.core.models.questions import WhyAnswer, WhyQuestion
from orchestrator.core.planning import plan_request
from orchestrator.gateway.door import Gateway, Snapshot

_WHY_S = 10.0


def adopted(snapshot: Snapshot) -> Plan:
    """The adopted plan. Raises: NotThere."""
    if snapshot.state.plan is None:
        raise NotThere("no plan has been adopted yet")
    return snapshot.state.plan


def why(gateway: Gateway, path: dict[str, str], _: Query) -> WhyAnswer:
    """What holds a task from both sides.

    Raises:
        NotThere: no such task in the plan.
        Refused: the planner gave no answer.
    """
    snapshot = gateway.snapshot()
    plan = adopted(snapshot)
    if all(task.id != path["task"] for task in plan.tasks):
        raise NotThere(f"no task {path['task']!r} in the plan; see /api/v1/plan")
    request = plan_request(snapshot.state, snapshot.now)
    answer = gateway.ask(WhyQuestion(request=request, plan=plan, task=TaskId(path["task"])), _WHY_S)
    if isinstance(answer, Refusal):
        raise Refused(answer)
    assert isinstance(answer, WhyAnswer)
    return answer
