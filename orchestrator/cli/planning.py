"""``coldwright plan``: reads a kitchen folder, plans it, prints the plan; touches nothing else."""

import json
from datetime import datetime
from pathlib import Path
from typing import Literal

import click
from rich.console import Console

from orchestrator.cli.checking import print_faults
from orchestrator.cli.common import BAD_INPUT, REFUSED, parse_instant
from orchestrator.cli.plan_document import PlanDocument, document_of
from orchestrator.cli.plan_print import print_plan
from orchestrator.core.models import Kitchen, PlanAnswer, PlanRequest
from orchestrator.kitchen import KitchenFaults, read_kitchen

_PIPED_WIDTH = 132


def schema_text() -> str:
    """The JSON Schema of what ``--json`` prints."""
    schema = PlanDocument.model_json_schema(mode="serialization")
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False)


def run(folder: Path, now: str | None, seconds: float, seed: int, as_json: bool) -> int:
    """Plan and print.

    Returns:
        Exit status: 0 with a plan, 1 when there is none, 2 for a faulty folder.
    """
    try:
        kitchen = read_kitchen(folder)
    except KitchenFaults as faults:
        print_faults(folder, faults)
        return BAD_INPUT
    instant = kitchen.planning_start if now is None else parse_instant(now, kitchen.time_zone)
    console = Console(highlight=False)
    if not console.is_terminal:
        console.width = _PIPED_WIDTH
    answer = _plan(kitchen, instant, seconds, seed, None if as_json else console)
    if answer.plan is None:
        click.echo("There is no plan that keeps the rules: " + "; ".join(answer.violations), err=True)
        return REFUSED
    if as_json:
        click.echo(document_of(kitchen, answer.plan, answer.seconds).model_dump_json(indent=2))
    else:
        print_plan(console, kitchen, answer.plan, answer.seconds)
    return 0


def _plan(kitchen: Kitchen, now: datetime, seconds: float, seed: int, console: Console | None) -> PlanAnswer:
    from orchestrator.planner.plan import make_plan

    request = PlanRequest(kitchen=kitchen, now=now)
    effort: Literal["full", "repair"] = "full" if seconds > 0 else "repair"
    if console is None or not console.is_terminal:
        return make_plan(request, effort=effort, seconds=seconds, seed=seed)
    with console.status(f"Planning {kitchen.name}, at most about {seconds:g} s ..."):
        return make_plan(request, effort=effort, seconds=seconds, seed=seed)
