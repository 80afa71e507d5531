"""Work that takes what steps leave follows these steps: which, in the turn of the plan so far."""

from collections.abc import Sequence
from datetime import datetime

from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.models import Batch, Peg, PlanRequest, TaskLink, TaskSpec, WindowClass
from orchestrator.core.supply_cover import Cover, Known
from orchestrator.core.supply_cover import cover as cover_of


def cover_in(request: PlanRequest, batches: Sequence[Batch], pegs: Sequence[Peg], specs: Sequence[TaskSpec]) -> Cover:
    """Which tasks there is enough of an awaited ingredient for, and what some wait for.

    Args:
        request: With the kitchen's supplies, the plan so far and what has happened.
        batches: All that are to be made.
        pegs: What they are for.
        specs: Their tasks.
    """
    if not request.kitchen.supplies:
        return Cover()
    previous = request.previous.tasks if request.previous is not None else ()
    left = any(supply.why == "left" for supply in request.kitchen.supplies)
    guess = _guess(request, batches, pegs, specs) if left else {}
    actuals = request.actuals
    known = Known(
        starts=guess | {task.id: task.start for task in previous} | {a.task: a.start for a in actuals},
        ends=guess | {task.id: task.end for task in previous} | {a.task: a.end for a in actuals},
        begun={actual.task for actual in actuals},
        over={actual.task for actual in actuals if actual.status in ("done", "skipped")},
    )
    return cover_of(request.kitchen, batches, known)


def _guess(
    request: PlanRequest, batches: Sequence[Batch], pegs: Sequence[Peg], specs: Sequence[TaskSpec]
) -> dict[TaskId, datetime]:
    """Of tasks without a place so far: about when the first order that their batch is for is due, so that what is
    wanted first gets what is left first."""
    orders = {order.id: order.due for order in request.kitchen.orders}
    dues: dict[LotCode, datetime] = {}

    def due(lot: LotCode, above: frozenset[LotCode]) -> datetime:
        if lot not in dues:
            told = [
                orders.get(peg.order)
                if peg.order is not None
                else due(peg.batch, above | {lot})
                if peg.batch is not None and peg.batch not in above
                else None
                for peg in pegs
                if peg.lot == lot
            ]
            dues[lot] = min((d for d in told if d is not None), default=request.kitchen.planned_until)
        return dues[lot]

    lots = {batch.lot: due(batch.lot, frozenset()) for batch in batches}
    return {spec.id: lots[spec.lot] for spec in specs if spec.lot in lots}


def with_what_is_left(
    request: PlanRequest, batches: Sequence[Batch], pegs: Sequence[Peg], specs: tuple[TaskSpec, ...]
) -> tuple[TaskSpec, ...]:
    """Tasks with the links to the steps whose by-products they take, within the time that these keep."""
    after = cover_in(request, batches, pegs, specs).after
    links: dict[TaskId, list[TaskLink]] = {}
    there = {spec.id for spec in specs}
    for (task, _), sources in after.items():
        for source, keeps in sources:
            if source in there:
                # Not a safety window: past it the by-product is thrown away, not the batch that left it.
                link = TaskLink(after=source, most=keeps, window=WindowClass.QUALITY)
                links.setdefault(task, []).append(link)
    if not links:
        return specs
    return tuple(
        spec.model_copy(update={"links": _joined(spec.links, links[spec.id])}) if spec.id in links else spec
        for spec in specs
    )


def _joined(own: tuple[TaskLink, ...], more: list[TaskLink]) -> tuple[TaskLink, ...]:
    """Links with further ones, one for each task that is followed."""
    known = {link.after for link in own}
    fresh = {link.after: link for link in more if link.after not in known}
    return (*own, *fresh.values())
