"""The plan as ``coldwright plan --json`` prints it. Its JSON Schema: ``coldwright plan --schema``."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId, EquipmentId, LotCode, OrderId, RecipeId, StationId, StepId, TaskId
from orchestrator.core.models import (
    Kitchen,
    Model,
    Outlook,
    Plan,
    PlannedTask,
    PlanTerm,
    TaskKind,
    WindowBreak,
    WindowClass,
)
from orchestrator.core.models.risk import ASSUMES, WindowChance
from orchestrator.core.quantities import Quantity


class BatchDocument(Model):
    """One run of a recipe at one size."""

    lot: LotCode
    recipe: RecipeId
    name: str
    """Of the recipe."""
    revision: int
    size: Quantity
    """Expected output, after machine losses."""
    scale: float
    """The recipe's amounts are multiplied by this."""
    allergens: tuple[str, ...]
    parents: tuple[LotCode, ...]
    """Lots that go into it."""
    goes_to: tuple[str, ...]
    """Lots and orders that take from it."""


class SpanDocument(Model):
    """From when to when who is needed."""

    start: AwareDatetime
    end: AwareDatetime
    crew: tuple[CrewId, ...]


class TaskDocument(Model):
    """One task, placed in time."""

    task: TaskId
    kind: TaskKind
    step: StepId | None
    process: str
    title: str
    product: RecipeId | None
    """The recipe whose step it is."""
    lot: LotCode | None
    order: OrderId | None
    station: StationId
    equipment: EquipmentId | None
    quantity: Quantity | None
    start: AwareDatetime
    end: AwareDatetime
    crew: tuple[CrewId, ...]
    """Everybody who is needed for it at some time."""
    attended: tuple[SpanDocument, ...]
    opens: AwareDatetime | None
    """Earliest start that its window allows."""
    closes: AwareDatetime | None
    """Latest start that its window allows."""
    closing_class: WindowClass | None


class PlanDocument(Model):
    """A plan of a kitchen folder."""

    schema_version: Literal["coldwright plan 1"] = "coldwright plan 1"
    kitchen: str
    time_zone: str
    """Instants carry their offset; this is the kitchen's own zone."""
    now: AwareDatetime
    start: AwareDatetime
    end: AwareDatetime
    method: str
    seconds: float
    """How long the planner took."""
    batches: tuple[BatchDocument, ...]
    tasks: tuple[TaskDocument, ...]
    """By start."""
    outlooks: tuple[Outlook, ...]
    """With the chance of each order, where the plan was simulated."""
    shaky: tuple[WindowChance, ...]
    """Windows that are kept in fewer than 19 of 20 simulated runs."""
    simulated_runs: int
    chances_assume: tuple[str, ...]
    """What the simulation takes for granted and what it leaves out."""
    breaks: tuple[WindowBreak, ...]
    terms: tuple[PlanTerm, ...]


def document_of(kitchen: Kitchen, plan: Plan, seconds: float) -> PlanDocument:
    """The document of a plan for that kitchen."""
    return PlanDocument(
        kitchen=kitchen.name,
        time_zone=kitchen.time_zone,
        now=plan.made_at,
        start=plan.start,
        end=plan.end,
        method=plan.method,
        seconds=round(seconds, 3),
        batches=_batches(kitchen, plan),
        tasks=tuple(_task(task) for task in sorted(plan.tasks, key=lambda t: (t.start, t.id))),
        outlooks=plan.outlooks,
        shaky=plan.shaky,
        simulated_runs=plan.simulated_runs,
        chances_assume=ASSUMES if plan.simulated_runs else (),
        breaks=plan.breaks,
        terms=plan.terms,
    )


def _batches(kitchen: Kitchen, plan: Plan) -> tuple[BatchDocument, ...]:
    names = {recipe.id: recipe.name for recipe in kitchen.recipes}
    return tuple(
        BatchDocument(
            lot=batch.lot,
            recipe=batch.recipe,
            name=names.get(batch.recipe, batch.recipe),
            revision=batch.revision,
            size=batch.size,
            scale=batch.scale,
            allergens=batch.allergens,
            parents=tuple(sorted({peg.lot for peg in plan.pegs if peg.batch == batch.lot})),
            goes_to=tuple(sorted({peg.consumer for peg in plan.pegs if peg.lot == batch.lot})),
        )
        for batch in plan.batches
    )


def _task(task: PlannedTask) -> TaskDocument:
    crew = dict.fromkeys(name for span in task.spans for name in span.crew)
    return TaskDocument(
        task=task.id,
        kind=task.kind,
        step=task.step,
        process=task.process.value,
        title=task.title,
        product=task.recipe,
        lot=task.lot,
        order=task.order,
        station=task.station,
        equipment=task.equipment,
        quantity=task.quantity,
        start=task.start,
        end=task.end,
        crew=tuple(crew),
        attended=tuple(SpanDocument(start=s.start, end=s.end, crew=s.crew) for s in task.spans),
        opens=task.opens,
        closes=task.closes,
        closing_class=task.closing_class,
    )
