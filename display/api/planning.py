"""What the planner is asked through the interface: why and how likely, with everything else as it is at present."""

from flask import current_app
from pydantic import Field

from display.api.reading import NotThere, Query, Refused
from display.helping import REMEDIES, RemedyBook
from orchestrator.core.adoption import rebase
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import TaskId
from orchestrator.core.models import Model, Plan
from orchestrator.core.models.questions import RiskAnswer, RiskQuestion, WhyAnswer, WhyQuestion
from orchestrator.core.models.remedy import Conflict, Remedy
from orchestrator.core.models.risk import Risk
from orchestrator.core.planning import plan_request
from orchestrator.gateway.door import Gateway, Snapshot

_WHY_S = 10.0
_HELP_S = 2.0
_RISK_S = 30.0


class RiskAsked(Query):
    """How it is simulated."""

    runs: int = Field(2000, gt=0, le=10_000, description="simulated runs")
    seed: int = Field(0, ge=0, le=2**63 - 1, description="of the simulation")


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


def risk(gateway: Gateway, _: dict[str, str], query: RiskAsked) -> Risk:
    """How likely the adopted plan keeps its orders and windows from the present on.

    Raises:
        NotThere: no plan has been adopted yet.
        Refused: the planner gave no answer.
    """
    snapshot = gateway.snapshot()
    present = adopted(snapshot)
    request = plan_request(snapshot.state, snapshot.now)
    plan = rebase(present, request)
    answer = gateway.ask(RiskQuestion(request=request, plan=plan, runs=query.runs, seed=query.seed), _RISK_S)
    if isinstance(answer, Refusal):
        raise Refused(answer)
    assert isinstance(answer, RiskAnswer)
    return answer.risk


class Help(Model):
    """What helps orders in trouble, for one adopted plan."""

    revision: int
    """Of the plan."""
    ready: bool
    """False: the planner is still at work, or gave no answer; read it again in some seconds."""
    trouble: str = ""
    """Why there is no answer."""
    conflicts: tuple[Conflict, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    complete: bool = True
    """False: time ran out before all had been tried."""


def remedies(gateway: Gateway, _: dict[str, str], __: Query) -> Help:
    """Conflicts and remedies of the adopted plan, worked out once for it. Raises: NotThere."""
    snapshot = gateway.snapshot()
    adopted(snapshot)
    book: RemedyBook = current_app.extensions[REMEDIES]
    answer, trouble = book.answer(snapshot, _HELP_S)
    if trouble:
        book.again()
    told = Help(revision=snapshot.state.revision, ready=answer is not None, trouble=trouble)
    if answer is None:
        return told
    found = {name: getattr(answer, name) for name in ("conflicts", "remedies", "complete")}
    return told.model_copy(update=found)
