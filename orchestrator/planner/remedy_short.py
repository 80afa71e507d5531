"""What a short delivery is enough for: as much of an order as what is here of an ingredient lets be made."""

from collections.abc import Iterator

from orchestrator.core.ids import LotCode, RecipeId
from orchestrator.core.models import Batch, Order, Plan, PlanRequest
from orchestrator.core.models.change import SmallerBatch
from orchestrator.core.models.remedy import RemedyKind
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.planner.remedy_offer import Offer

_STEPS = 8
_LEAST_SHARE = 0.1
"""Less of an order than that is no help to anybody."""


def as_far_as_it_goes(request: PlanRequest, plan: Plan, order: Order, ingredient: str) -> Iterator[Offer]:
    """For each product of the order that takes a short ingredient: the most that can be made of what is here, and a few
    steps below it, since what stays in machines does not shrink with a batch.

    Args:
        request: With the supply that is in conflict with the order.
        plan: The present plan.
        order: The order in trouble.
        ingredient: Of which not all has come.
    """
    supply = next((s for s in request.kitchen.supplies if s.ingredient == ingredient), None)
    if supply is None or supply.on_hand is None or supply.on_hand.value <= 0:
        return
    use = _Use(request, plan, ingredient)
    begun = {actual.task.split(".")[0] for actual in request.actuals}
    lacking = sum(use.of_batch(b) for b in plan.batches if b.lot not in begun) - supply.on_hand.value
    for product in dict.fromkeys(line.product for line in order.lines):
        mine = [line.quantity for line in order.lines if line.product == product]
        total, unit = sum(quantity.value for quantity in mine), mine[0].unit
        takes = use.of_order(order, product)
        if takes <= 0 or lacking <= 0:
            continue
        step = 1.0 if unit in (Unit.EACH, Unit.TRAY) else 0.1
        most = (total * (1.0 - lacking / takes)) // step
        sizes = [(most - number) * step for number in range(_STEPS)]
        rungs = tuple(_less(order, product, size, unit) for size in sizes if total * _LEAST_SHARE <= size < total)
        if rungs:
            yield Offer(RemedyKind.SMALLER, rungs)


def _less(order: Order, product: RecipeId, size: float, unit: Unit) -> tuple[SmallerBatch]:
    return (SmallerBatch(order=order.id, product=product, quantity=Quantity(value=round(size, 3), unit=unit)),)


class _Use:
    """How much of one ingredient goes into what."""

    def __init__(self, request: PlanRequest, plan: Plan, ingredient: str) -> None:
        self._kitchen, self._plan, self._ingredient = request.kitchen, plan, ingredient
        self._batches = {batch.lot: batch for batch in plan.batches}

    def of_batch(self, batch: Batch) -> float:
        """By the batch itself, components left aside."""
        recipe = self._kitchen.made_by(batch.recipe, batch.revision)
        steps = [step for step in recipe.steps if step.per == "batch"] if recipe is not None else []
        takes = (take for step in steps for take in step.takes if take.ingredient == self._ingredient)
        return sum(take.amount.value for take in takes) * batch.scale

    def of_order(self, order: Order, product: RecipeId) -> float:
        """By an order's share of all that is made for it, through components."""
        pegs = [peg for peg in self._plan.pegs if peg.order == order.id and peg.lot in self._batches]
        mine = [peg for peg in pegs if self._batches[peg.lot].recipe == product]
        return sum(self._share(peg.lot, peg.quantity.value, frozenset()) for peg in mine)

    def _share(self, lot: LotCode, amount: float, above: frozenset[LotCode]) -> float:
        batch = self._batches.get(lot)
        if batch is None or lot in above or batch.size.value <= 0:
            return 0.0
        part = amount / batch.size.value
        own = self.of_batch(batch) * part
        into = [peg for peg in self._plan.pegs if peg.batch == lot]
        return own + sum(self._share(peg.lot, peg.quantity.value * part, above | {lot}) for peg in into)
