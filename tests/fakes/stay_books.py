"""Who took how much of which lot, read off a log by where food stood: nothing is asked of the books under test.

A plan says how much of a lot waits in its place for whom. When that stay ends because its taker begins, or is left out,
that much has gone there.
"""

from collections import defaultdict
from collections.abc import Iterable

from orchestrator.core.events import (
    ActUndone,
    KitchenImported,
    PlanAdopted,
    Recorded,
    TaskFinished,
)
from orchestrator.core.lot_events import LotDecided
from orchestrator.core.models import Measure, Plan, PlannedTask, TaskKind

Moved = dict[tuple[str, str], float]


def moved_by_stays(log: Iterable[Recorded]) -> Moved:
    """Litres, kilograms or pieces by lot and taker; food thrown away before it was handed over is not counted."""
    records = list(log)
    undone = {r.event.act for r in records if isinstance(r.event, ActUndone)}
    taken_back = {r.command_id for r in records if r.seq in undone}
    plan: Plan | None = None
    found: Moved = defaultdict(float)
    ended: dict[str, set[str]] = defaultdict(set)
    given: set[str] = set()
    for record in records:
        event = record.event
        if isinstance(event, PlanAdopted):
            plan = event.plan
        if plan is None or isinstance(event, KitchenImported) or record.command_id in taken_back:
            continue
        if isinstance(event, TaskFinished):
            task = next((t for t in plan.tasks if t.id == event.task), None)
            given |= {str(event.task).rsplit(".", 1)[0]} if event.task.endswith("hand-over") else set()
            _ended(plan, task, found, ended)
        if isinstance(event, LotDecided) and event.decision == "discard":
            _thrown_away(event.lot, found, ended, given)
    return {key: value for key, value in found.items() if value > 1e-9}


def _ended(plan: Plan, task: PlannedTask | None, found: Moved, ended: dict[str, set[str]]) -> None:
    if task is None or task.kind is not TaskKind.STAY or task.lot is None or task.quantity is None:
        return
    consumer = str(task.id).rsplit(".", 1)[-1]
    if task.id.count(".") == 2 and consumer not in ("rest", task.lot):
        takers = (t for t in plan.tasks if any(k.after == task.id for k in t.links))
        ended[task.lot] |= {f"{consumer}.{str(t.id).split('.')[1]}" for t in takers if t.order is not None}
        found[task.lot, consumer] += task.quantity.value


def _thrown_away(lot: str, found: Moved, ended: dict[str, set[str]], given: set[str]) -> None:
    """An order line that has not been handed over gives back what it took: that is thrown away as well."""
    for line in ended.get(lot, set()) - given:
        found.pop((lot, line.split(".")[0]), None)


def measured_by_log(log: Iterable[Recorded]) -> dict[str, dict[Measure, float]]:
    """By task, what was entered at its end; acts that were taken back left out."""
    records = list(log)
    undone = {r.event.act for r in records if isinstance(r.event, ActUndone)}
    taken_back = {r.command_id for r in records if r.seq in undone}
    told = (r.event for r in records if r.command_id not in taken_back)
    return {event.task: event.measured for event in told if isinstance(event, TaskFinished) and event.measured}
