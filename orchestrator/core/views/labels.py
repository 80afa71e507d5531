"""What a label says about one lot."""

from datetime import datetime

from pydantic import AwareDatetime

from orchestrator.core.alarms import Look, look
from orchestrator.core.alarms.past_dates import best_before
from orchestrator.core.ids import LotCode, RecipeId, SupplyLotId
from orchestrator.core.models import Model, Recipe, TaskKind
from orchestrator.core.models.label import ProductLabel
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.quantities import Quantity
from orchestrator.core.state import Facts, LotStatus, State, TaskStatus
from orchestrator.core.views.task import lot_allergens


class LabelView(Model):
    """Facts for the labels of a lot; nothing of it is a legal label."""

    lot: LotCode
    name: str
    quantity: Quantity
    made_at: AwareDatetime | None
    """When its last work before the order's was done, or is planned to be."""
    made_is_planned: bool
    use_by: AwareDatetime | None
    """Safety: not used after it."""
    best_before: AwareDatetime | None
    """Quality: at its best until then."""
    allergens: tuple[str, ...]
    keep_at_most_c: float | None
    """Upper end of the band of the place where the recipe keeps it last; of several such places, of the coldest."""
    frozen: bool
    product: ProductLabel
    blocked: str = ""
    """Why no label may be printed: on hold, discarded, to be reworked; in words, with the reason."""


def label_view(state: State, facts: Facts, now: datetime, lot: LotCode) -> LabelView:
    """What is known for the labels of a lot.

    Raises:
        KeyError: No such lot, planned or on hand.
    """
    seen = look(state, facts, now)
    if seen is None:
        raise KeyError(lot)
    left = state.pantry.lots.get(SupplyLotId(lot))
    if left is not None and left.made_from is not None:
        return _by_product(seen, left)
    batch, stock = seen.plan.batches.get(lot), seen.kitchen.stock.get(lot)
    source = batch or stock
    if source is None:
        raise KeyError(lot)
    recipe = seen.kitchen.recipes[source.recipe]
    made, planned = (stock.made, False) if stock is not None and batch is None else _made(seen, lot)
    use_by = seen.clocks().use_by(lot)
    return LabelView(
        lot=lot,
        name=recipe.name,
        quantity=batch.size if batch is not None else source.quantity,  # type: ignore[union-attr]
        made_at=made,
        made_is_planned=planned,
        use_by=use_by,
        best_before=best_before(recipe, made, use_by),
        allergens=lot_allergens(seen, lot),
        keep_at_most_c=_kept_at(seen, recipe),
        frozen=any(step.freezes for step in recipe.steps),
        product=seen.kitchen.kitchen.labels.product(recipe.id),
        blocked=_blocked(state, lot),
    )


def _blocked(state: State, lot: LotCode) -> str:
    record = state.lots.get(lot)
    return "" if record is None or record.status is LotStatus.FREE else f"{record.status.value}: {record.reason}"


def _by_product(look: Look, left: IngredientLot) -> LabelView:
    """What a step has left, for the box that it is put in."""
    place = look.kitchen.equipment.get(left.place) if left.place is not None else None
    return LabelView(
        lot=LotCode(left.id),
        name=left.ingredient,
        quantity=left.quantity,
        made_at=left.received_at,
        made_is_planned=False,
        use_by=left.use_by,
        best_before=None,
        allergens=left.allergens,
        keep_at_most_c=place.holds.high if place is not None and place.holds is not None else None,
        frozen=False,
        product=look.kitchen.kitchen.labels.product(RecipeId(left.ingredient)),
        blocked=_blocked(look.state, LotCode(left.id)),
    )


def _made(look: Look, lot: LotCode) -> tuple[datetime | None, bool]:
    """The end of the last work on the whole lot; what is done per order line, as tempering, makes it no younger."""
    tasks = [look.plan.tasks[t] for t in look.plan.lot_tasks.get(lot, ())]
    work = [t for t in tasks if t.kind is TaskKind.WORK and t.order is None]
    if not work:
        return None, False
    planned = any(look.status(t) in {TaskStatus.WAITING, TaskStatus.IN_HAND} for t in work)
    return max(look.live[t.id].end for t in work), planned


def _kept_at(look: Look, recipe: Recipe) -> float | None:
    stays = [step for step in recipe.steps if step.stay is not None and step.equipment is not None]
    if not stays:
        return None
    bands = [e.holds for e in look.kitchen.equipment.values() if e.kind == stays[-1].equipment and e.holds is not None]
    return min((band.high for band in bands), default=None)
