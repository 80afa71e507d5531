"""``coldwright plan --what-if``: scenarios of a file planned from one plan, and printed side by side."""

from pathlib import Path

import click
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from orchestrator.cli.checking import print_faults
from orchestrator.cli.common import BAD_INPUT, REFUSED
from orchestrator.cli.search_watch import SearchWatch
from orchestrator.core.models import Kitchen, Outlook, PlanRequest
from orchestrator.core.models.outcome import Comparison, Outcome, comparison
from orchestrator.core.models.questions import WhatIfAnswer, WhatIfQuestion
from orchestrator.kitchen import KitchenFaults, ScenarioFile, check_scenarios, read_scenarios

_MOST_MOVES = 12
_HAD = "these are the best plans it had by then, quick ones for what it had not come to"


def run(
    request: PlanRequest, file: Path, seconds: float, console: Console | None, *, seed: int = 0, progress: bool = False
) -> int:
    """Plan the scenarios and print them; as JSON without a console.

    Args:
        request: The kitchen as it is.
        file: Scenarios; see the schema ``what-if``.
        seconds: For all plans together; 0: quick plans.
        console: Where the table goes.
        seed: Of the search.
        progress: Whether each better plan is told in a line of its own on stderr, also where that is no terminal.

    Returns:
        Exit status: 0 with a plan for every scenario, 1 where one has none, 2 for a faulty file.
    """
    try:
        scenarios = read_scenarios(file, request.kitchen)
        check_scenarios(scenarios, request)
        title = f"{len(scenarios.scenarios)} scenarios and the present plan, at most about {seconds:g} s"
        watch = SearchWatch(title, plain=progress, had=_HAD)
        answer = watch.run(lambda: _answer(request, scenarios, seconds, seed, watch))
    except KitchenFaults as faults:
        print_faults(file.parent, faults)
        return BAD_INPUT
    if answer.base.plan is None:
        click.echo("There is no plan that keeps the rules: " + "; ".join(answer.base.violations), err=True)
        return REFUSED
    if console is None:
        click.echo(answer.model_dump_json(indent=2))
    else:
        _print(console, request.kitchen, answer)
    return 0 if all(outcome.plan is not None for outcome in answer.scenarios) else REFUSED


def _answer(request: PlanRequest, file: ScenarioFile, seconds: float, seed: int, watch: SearchWatch) -> WhatIfAnswer:
    """Plan the kitchen as it is, then every scenario from there.

    Raises:
        KitchenFaults: a scenario names what is not in that plan.
    """
    from orchestrator.planner.what_if import Manner, present_plan, what_if

    share = seconds / (len(file.scenarios) + 1)
    base = present_plan(request, share, Manner(watch.stop, seed, tell=watch.better_of))
    if base.plan is None:
        return WhatIfAnswer(base=base, scenarios=(), table=comparison((base,)))
    asked = request.model_copy(update={"previous": base.plan})
    check_scenarios(file, asked)
    question = WhatIfQuestion(request=asked, scenarios=file.scenarios, seconds=seconds - share)
    answer = what_if(question, watch.stop, seed=seed, tell=watch.better_of, quick_rest=True)
    return answer.model_copy(update={"base": base})  # which knows whether it was cut short


def _print(console: Console, kitchen: Kitchen, answer: WhatIfAnswer) -> None:
    for outcome in answer.scenarios:
        console.print(f"[bold]{outcome.name}[/bold]: {'; '.join(outcome.says)}")
        for line in _lacking(outcome):
            console.print(f"  {line}")
    console.print()
    console.print(_table(kitchen, answer.table))
    for outcome in answer.scenarios:
        _print_moves(console, kitchen, outcome)
    console.print("Nothing has been adopted.")


def _lacking(outcome: Outcome) -> list[str]:
    if outcome.refused is not None:
        return [f"Not possible. {outcome.refused.thing}: {outcome.refused.status}; {outcome.refused.remedy}"]
    if outcome.plan is None:
        return ["No plan keeps the rules: " + "; ".join(outcome.violations[:3])]
    late = [o for o in outcome.outlooks if not o.met or o.late_min]
    return [f"{o.order}: {o.reason}" for o in late]


def _table(kitchen: Kitchen, told: Comparison) -> Table:
    table = Table(
        "",
        *told.names,
        title="Side by side, minutes late or to spare",
        title_justify="left",
        box=SIMPLE_HEAD,
        padding=(0, 1),
    )
    for order in told.orders:
        table.add_row(order.order, *(_outlook(kitchen, outlook) for outlook in order.told))
    table.add_row("windows broken", *("no plan" if count is None else str(count) for count in told.breaks))
    table.add_row("tasks moved", *(str(count) for count in told.moves))
    table.add_section()
    for term in told.terms:
        if len(set(term.values)) > 1:
            values = ("" if value is None else f"{value:g}" for value in term.values)
            table.add_row(f"{term.stage} {term.name}", *values)
    return table


def _outlook(kitchen: Kitchen, outlook: Outlook | None) -> str:
    if outlook is None:
        return "–"
    if not outlook.met:
        return "NOT MET"
    ready = kitchen.when(outlook.ready_at) if outlook.ready_at is not None else ""
    if outlook.late_min:
        return f"{ready}, LATE {outlook.late_min}"
    return f"{ready}, {outlook.margin_min} spare"


def _print_moves(console: Console, kitchen: Kitchen, outcome: Outcome) -> None:
    if not outcome.moves:
        return
    console.print(f"\n[bold]{outcome.name}[/bold] moves:")
    for move in outcome.moves[:_MOST_MOVES]:
        clocks = (kitchen.when(at) if at else "–" for at in (move.before, move.after))
        console.print(f"  {move.title} ({move.task}): {' → '.join(clocks)}, {move.what}: {move.reason}")
    if len(outcome.moves) > _MOST_MOVES:
        console.print(f"  and {len(outcome.moves) - _MOST_MOVES} more")
