"""What the board needs to be grouped by batch, by order or by crew."""

from orchestrator.core.alarms import Look
from orchestrator.core.ids import LotCode
from orchestrator.core.models import PlannedTask
from orchestrator.core.plan_index import working
from orchestrator.core.state import TaskStatus
from orchestrator.core.views.board_models import BatchRow, CrewRow, HandsSpan, Present


def hands_spans(look: Look, task: PlannedTask) -> tuple[HandsSpan, ...]:
    """When it needs whom: the planned spans, moved with the task; what is begun, by whoever began it."""
    status, live, record = look.status(task), look.live[task.id], look.state.record(task.id)
    if status is TaskStatus.SKIPPED or not task.spans:
        return ()
    moved = live.start - task.start
    by = (record.started_by,) if record.started_by is not None else None
    if any(part.when == "throughout" for part in task.attended):
        crew = by or tuple(dict.fromkeys(who for span in task.spans for who in span.crew))
        return (HandsSpan(start=live.start, end=live.end, crew=crew),)
    return tuple(HandsSpan(start=s.start + moved, end=s.end + moved, crew=by or s.crew) for s in task.spans)


def batch_rows(look: Look) -> tuple[BatchRow, ...]:
    """Every batch of the plan that has a task in it, the one that begins first on top."""
    first: dict[LotCode, PlannedTask] = {}
    for task in look.plan.plan.tasks:
        if task.lot is not None and (task.lot not in first or task.start < first[task.lot].start):
            first[task.lot] = task
    found = sorted((task for lot, task in first.items() if lot in look.plan.batches), key=lambda t: (t.start, t.id))
    return tuple(_batch(look, task.lot) for task in found if task.lot is not None)


def _batch(look: Look, lot: LotCode) -> BatchRow:
    batch = look.plan.batches[lot]
    recipe = look.kitchen.recipes.get(batch.recipe)
    due = {order.id: order.due for order in look.kitchen.orders.values()}
    orders = sorted((o for o in look.plan.lot_orders.get(lot, ()) if o in due), key=lambda o: (due[o], o))
    return BatchRow(lot=lot, name=recipe.name if recipe else batch.recipe, size=batch.size, orders=tuple(orders))


def crew_rows(look: Look) -> tuple[CrewRow, ...]:
    """Everybody of the crew, as the kitchen's files have them."""
    return tuple(
        CrewRow(crew=member.id, name=member.name, present=tuple(Present(start=s, end=e) for s, e in working(member)))
        for member in look.kitchen.crew.values()
    )
