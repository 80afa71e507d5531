"""``coldwright plan --why``: what holds one task from both sides."""

import click

from orchestrator.cli.common import BAD_INPUT
from orchestrator.core.ids import TaskId
from orchestrator.core.models import Plan, PlannedTask, PlanRequest
from orchestrator.core.models.explanation import WhyNot


def print_why(request: PlanRequest, plan: Plan, task: str, *, as_json: bool) -> int:
    """Print why a task of a plan is not earlier and not later.

    Returns:
        Exit status: 0, or 2 when the plan has no such task.
    """
    from orchestrator.planner.why import why

    planned = next((known for known in plan.tasks if known.id == task), None)
    if planned is None:
        known = ", ".join(sorted(t.id for t in plan.tasks if t.id.split(".")[0] == task.split(".", maxsplit=1)[0]))
        click.echo(f"There is no task {task!r} in the plan" + (f"; there are {known}" if known else ""), err=True)
        return BAD_INPUT
    answer = why(request, plan, TaskId(task))
    if as_json:
        click.echo(answer.model_dump_json(indent=2))
        return 0
    click.echo(_head(request, planned))
    _side("earlier", answer.earlier)
    _side("later", answer.later)
    return 0


def _head(request: PlanRequest, task: PlannedTask) -> str:
    start, end = (request.kitchen.when(instant) for instant in (task.start, task.end))
    return f"{task.title} ({task.id}), {start} to {end}"


def _side(which: str, side: WhyNot) -> None:
    click.echo(f"Why not {which}:")
    for hold in side.holds:
        click.echo(f"  {hold.says}")
    if side.along:
        click.echo(f"  These would have to move along: {', '.join(side.along)}. All of them together:")
        for hold in side.together:
            click.echo(f"    {hold.says}")
