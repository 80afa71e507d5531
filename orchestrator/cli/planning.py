"""``coldwright plan``: reads a kitchen folder, plans it, prints the plan; touches nothing else."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import click
from rich.console import Console

from orchestrator.cli import explaining, what_helps, what_if
from orchestrator.cli.checking import print_faults
from orchestrator.cli.common import BAD_INPUT, REFUSED, parse_instant
from orchestrator.cli.plan_document import PlanDocument, document_of
from orchestrator.cli.plan_print import print_plan
from orchestrator.cli.search_watch import SearchWatch
from orchestrator.core.models import Plan, PlanAnswer, PlanRequest
from orchestrator.kitchen import KitchenFaults, read_kitchen

_PIPED_WIDTH = 132


def schema_text() -> str:
    """The JSON Schema of what ``--json`` prints."""
    schema = PlanDocument.model_json_schema(mode="serialization")
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False)


@dataclass(frozen=True, slots=True)
class Wish:
    """How a folder is planned, and what is to be printed of it."""

    folder: Path
    now: str | None
    seconds: float
    seed: int
    as_json: bool
    why: str | None = None
    """A task: why it is not earlier and not later."""
    what_if: Path | None = None
    """A file of scenarios to be compared."""
    what_helps: bool = False
    """Instead of the plan: what stands in the way of orders in trouble, and what would help."""
    progress: bool = False
    """Whether each better plan is told in a line of its own on stderr, also where that is no terminal."""


def run(wish: Wish) -> int:
    """Plan and print.

    Returns:
        Exit status: 0 with a plan, 1 when there is none, 2 for a faulty folder.
    """
    try:
        kitchen = read_kitchen(wish.folder)
    except KitchenFaults as faults:
        print_faults(wish.folder, faults)
        return BAD_INPUT
    instant = kitchen.planning_start if wish.now is None else parse_instant(wish.now, kitchen.time_zone)
    console = Console(highlight=False)
    if not console.is_terminal:
        console.width = _PIPED_WIDTH
    request = PlanRequest(kitchen=kitchen, now=instant)
    if wish.what_if is not None:
        table = None if wish.as_json else console
        return what_if.run(request, wish.what_if, wish.seconds, table, seed=wish.seed, progress=wish.progress)
    answer = _plan(request, wish)
    if answer.plan is None:
        click.echo("There is no plan that keeps the rules: " + "; ".join(answer.violations), err=True)
        return REFUSED
    if wish.why is not None:
        return explaining.print_why(request, answer.plan, wish.why, as_json=wish.as_json)
    if wish.what_helps:
        return what_helps.run(request, answer.plan, wish.seconds, as_json=wish.as_json, progress=wish.progress)
    plan = _with_chances(request, answer.plan, wish.seed)
    if wish.as_json:
        click.echo(document_of(kitchen, plan, answer.seconds).model_dump_json(indent=2))
    else:
        print_plan(console, kitchen, plan, answer.seconds)
    return 0


def _with_chances(request: PlanRequest, plan: Plan, seed: int) -> Plan:
    """A quick plan tells no chances by itself; whoever reads a printed one has the time."""
    from orchestrator.planner.risk import with_chances

    return plan if plan.simulated_runs else with_chances(request, plan, seed=seed)


def _plan(request: PlanRequest, wish: Wish) -> PlanAnswer:
    from orchestrator.planner.plan import make_plan

    effort: Literal["full", "repair"] = "full" if wish.seconds > 0 else "repair"
    watch = SearchWatch(f"Planning {request.kitchen.name}, at most about {wish.seconds:g} s", plain=wish.progress)
    return watch.run(
        lambda: make_plan(
            request, effort=effort, seconds=wish.seconds, seed=wish.seed, stop=watch.stop, on_better=watch.better
        )
    )
