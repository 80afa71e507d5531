"""What the planner is asked, and what it answers: plain models that cross to its processes as JSON."""

from typing import Annotated, Literal

from pydantic import AwareDatetime, Field, TypeAdapter

from orchestrator.core.ids import EquipmentId, OrderId, TaskId
from orchestrator.core.models.base import Model
from orchestrator.core.models.change import Change
from orchestrator.core.models.explanation import WhyNot
from orchestrator.core.models.outcome import Comparison, Outcome
from orchestrator.core.models.plan import Plan, PlanAnswer, PlanRequest, PlanTerm
from orchestrator.core.models.remedy import Conflict, Remedy
from orchestrator.core.models.risk import Risk


class PlanQuestion(Model):
    """Make a plan. ``repair``: a usable one in well under a second; ``full``: the best found in time."""

    kind: Literal["plan"] = "plan"
    request: PlanRequest
    effort: Literal["repair", "full"]
    seconds: float


class HelpProgress(Model):
    """How far the search for what stands in the way, and for what helps, is."""

    order: OrderId
    """Whose turn it is."""
    turn: int
    """Of the orders that are looked at, from 1."""
    of: int
    doing: Literal["conflict", "remedies"]
    tried: int
    """Plans tried for the conflict, or ways tried that might help."""
    left: int
    """Things that could still be in the way, or ways not tried yet."""


class PlanProgress(Model):
    """A better plan was found while the search goes on, or a search for what helps has got further."""

    seconds: float
    """Since it began."""
    terms: tuple[PlanTerm, ...] = ()
    """Goal by goal, what it comes to."""
    helps: HelpProgress | None = None


class WhyQuestion(Model):
    """Why does a task stand where the plan has it, not earlier and not later?"""

    kind: Literal["why"] = "why"
    request: PlanRequest
    plan: Plan
    task: TaskId


class WhyAnswer(Model):
    """What holds a task from both sides."""

    kind: Literal["why"] = "why"
    task: TaskId
    earlier: WhyNot
    later: WhyNot


class Scenario(Model):
    """Changes that are tried together, under a name of the asker's."""

    name: str = Field(min_length=1, max_length=80)
    changes: tuple[Change, ...] = Field(max_length=300)


class WhatIfQuestion(Model):
    """What would the plan be if ...? Several at once, so that they can be compared."""

    kind: Literal["what_if"] = "what_if"
    request: PlanRequest
    scenarios: tuple[Scenario, ...] = Field(min_length=1, max_length=8)
    seconds: float
    """For all of them together."""


class WhatIfAnswer(Model):
    """A plan for each scenario, as far as there is one, beside the present plan."""

    kind: Literal["what_if"] = "what_if"
    base: Outcome
    scenarios: tuple[Outcome, ...]
    table: Comparison


class RemediesQuestion(Model):
    """What is in conflict where the plan is late or leaves an order out, and what would help?"""

    kind: Literal["remedies"] = "remedies"
    request: PlanRequest
    plan: Plan
    seconds: float


class RemediesAnswer(Model):
    """An irreducible conflict and up to three remedies for each order looked at, each planned and checked."""

    kind: Literal["remedies"] = "remedies"
    conflicts: tuple[Conflict, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    """Order by order, the cheapest first."""
    complete: bool = True
    """False: time ran out before all had been tried."""


class RiskQuestion(Model):
    """How likely is each order on time, and each window kept, when steps take as long as they do?"""

    kind: Literal["risk"] = "risk"
    request: PlanRequest
    plan: Plan
    runs: int = Field(gt=0)
    seed: int = 0


class RiskAnswer(Model):
    """Chances, and the steps that cause most of what goes wrong."""

    kind: Literal["risk"] = "risk"
    risk: Risk


class InstantsQuestion(Model):
    """Until when can each waiting task start, and each machine be back, with all orders and windows kept?"""

    kind: Literal["instants"] = "instants"
    request: PlanRequest
    plan: Plan
    until: AwareDatetime
    """Tasks that start by then are near: looked at to the minute. All others get a safe bound."""
    part: Literal["near", "far", "all"] = "all"
    """``near``: near tasks and machines that stand; ``far``: the other tasks."""


class LatestStart(Model):
    """A start that was tried: a repaired plan that begins the task then keeps every order and window."""

    task: TaskId
    at: AwareDatetime
    exact: bool
    """Whether no plan at all could begin it later: else it is until then at least."""


class LatestReturn(Model):
    """Back by then, a machine that stands (or might) still serves an order or a window in a repaired plan."""

    equipment: EquipmentId
    order: OrderId | None = None
    task: TaskId | None = None
    """Whose window it is; none for an order."""
    at: AwareDatetime | None
    """None: no return was found that would save it."""


class InstantsAnswer(Model):
    """Last instants of a plan, each one a witness: a plan that passed the checker begins there."""

    kind: Literal["instants"] = "instants"
    starts: tuple[LatestStart, ...] = ()
    returns: tuple[LatestReturn, ...] = ()
    complete: bool = True
    """False: stopped half-way; what is named still holds."""


Question = Annotated[
    PlanQuestion | WhyQuestion | WhatIfQuestion | RemediesQuestion | RiskQuestion | InstantsQuestion,
    Field(discriminator="kind"),
]
QUESTIONS: TypeAdapter[Question] = TypeAdapter(Question)

Answer = Annotated[
    PlanAnswer | WhyAnswer | WhatIfAnswer | RemediesAnswer | RiskAnswer | InstantsAnswer,
    Field(discriminator="kind"),
]
ANSWERS: TypeAdapter[Answer] = TypeAdapter(Answer)
