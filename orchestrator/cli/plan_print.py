"""A plan for people: each day by station, then what it means for every order."""

from collections.abc import Iterable
from datetime import datetime

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from orchestrator.cli.chances_print import chance_of, print_chances
from orchestrator.core.models import Kitchen, Outlook, Plan, PlannedTask, TaskKind


def print_plan(console: Console, kitchen: Kitchen, plan: Plan, seconds: float) -> None:
    """Print all of it."""
    batches = "1 batch" if len(plan.batches) == 1 else f"{len(plan.batches)} batches"
    console.print(f"[bold]{kitchen.name}[/bold]: {batches}, {len(plan.tasks)} tasks")
    console.print(f"Found by {plan.method} in {seconds:.1f} s. Times are local to {kitchen.time_zone}.\n")
    _batches(console, kitchen, plan)
    for day, tasks in _days(kitchen, plan.tasks):
        console.print(f"\n[bold]{day}[/bold]")
        for station in kitchen.stations:
            here = [task for task in tasks if task.station == station.id]
            if here:
                console.print(_station(kitchen, station.name, here))
    console.print()
    console.print(_orders(kitchen, plan.outlooks))
    print_chances(console, plan)
    for broken in plan.breaks:
        side = f"{broken.minutes} min {broken.side}"
        console.print(
            f"Window not kept ({broken.window.value}): {broken.task} after {broken.after}, {side}. {broken.reason}"
        )
    if not plan.breaks:
        console.print("Every window is kept.")


def _clock(kitchen: Kitchen, instant: datetime | None, day: bool = False) -> str:
    if instant is None:
        return ""
    return kitchen.local(instant).strftime("%a %H:%M" if day else "%H:%M")


def _days(kitchen: Kitchen, tasks: Iterable[PlannedTask]) -> list[tuple[str, list[PlannedTask]]]:
    days: dict[str, list[PlannedTask]] = {}
    for task in sorted(tasks, key=lambda t: (t.start, t.id)):
        if task.kind is not TaskKind.STAY:  # a stay is not something to do; its window stands with the next task
            days.setdefault(kitchen.local(task.start).strftime("%A %d %B"), []).append(task)
    return list(days.items())


def _batches(console: Console, kitchen: Kitchen, plan: Plan) -> None:
    names = {recipe.id: recipe.name for recipe in kitchen.recipes}
    table = Table(
        "Lot",
        "What",
        "Size",
        "From",
        "For",
        "Allergens",
        title="Batches",
        title_justify="left",
        box=SIMPLE_HEAD,
        padding=(0, 1),
    )
    for batch in plan.batches:
        parents = sorted({peg.lot for peg in plan.pegs if peg.batch == batch.lot})
        takers = sorted({peg.consumer for peg in plan.pegs if peg.lot == batch.lot})
        size = f"{batch.size.value:.4g} {batch.size.unit}"
        table.add_row(
            batch.lot, names[batch.recipe], size, ", ".join(parents), ", ".join(takers), ", ".join(batch.allergens)
        )
    console.print(table)


def _station(kitchen: Kitchen, name: str, tasks: list[PlannedTask]) -> Table:
    people = {member.id: member.name for member in kitchen.crew}
    machines = {machine.id: machine.name for machine in kitchen.equipment}
    table = Table(
        "Start",
        "End",
        "What",
        "For",
        "Where",
        "Who",
        "Window",
        title=name,
        title_justify="left",
        box=SIMPLE_HEAD,
        padding=(0, 1),
    )
    for task in tasks:
        crew = dict.fromkeys(people[one] for span in task.spans for one in span.crew)
        table.add_row(
            _clock(kitchen, task.start),
            _clock(kitchen, task.end, day=kitchen.local(task.end).date() != kitchen.local(task.start).date()),
            task.title,
            str(task.lot or task.order or ""),
            machines[task.equipment] if task.equipment else "",
            ", ".join(crew) or "on its own",
            _window(kitchen, task),
        )
    return table


def _window(kitchen: Kitchen, task: PlannedTask) -> str:
    if task.closes is None:
        return ""
    cls = f" ({task.closing_class.value})" if task.closing_class else ""
    opens = f"{_clock(kitchen, task.opens, day=True)} to " if task.opens else "until "
    return f"{opens}{_clock(kitchen, task.closes, day=True)}{cls}"


def _orders(kitchen: Kitchen, outlooks: Iterable[Outlook]) -> Table:
    orders = {order.id: order for order in kitchen.orders}
    table = Table(
        "Order", "For", "Due", "Ready", "Outlook", title="Orders", title_justify="left", box=SIMPLE_HEAD, padding=(0, 1)
    )
    for outlook in outlooks:
        order = orders[outlook.order]
        if not outlook.met:
            says = f"NOT MET. {outlook.reason}"
        elif outlook.late_min:
            says = f"LATE by {outlook.late_min} min. {outlook.reason}"
        else:
            says = f"on time, {outlook.margin_min} min to spare"
        says += chance_of(outlook)
        table.add_row(
            order.id,
            order.customer,
            _clock(kitchen, order.due, day=True),
            _clock(kitchen, outlook.ready_at, day=True),
            says,
        )
    return table
