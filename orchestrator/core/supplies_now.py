"""What the kitchen waits for, as it stands by now: deliveries that are overdue, and what steps have left by now."""

from datetime import datetime, timedelta
from functools import lru_cache
from math import floor

from orchestrator.core.by_products import is_free, only_left
from orchestrator.core.models import Kitchen, Supply
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.plan_index import Same
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.state import State
from orchestrator.core.wanted import taken_without_lot


def is_overdue(supply: Supply, kitchen: Kitchen, now: datetime) -> bool:
    """Whether a delivery should be there, and nobody has received it. What came before planning began is there."""
    return supply.why == "delivery" and kitchen.first_start < supply.ready <= now


def expected_at(supply: Supply, kitchen: Kitchen, now: datetime) -> datetime:
    """When a supply is taken to be there: as told; overdue, at the next step of the kitchen's wait after now."""
    if not is_overdue(supply, kitchen, now):
        return supply.ready
    wait = timedelta(minutes=kitchen.warnings.delivery_wait)
    return supply.ready + wait * (floor((now - supply.ready) / wait) + 1)


def supplies_now(state: State, now: datetime) -> tuple[Supply, ...]:
    """The supplies that work is planned by.

    Args:
        state: With a kitchen.
        now: The present instant.

    Returns:
        The kitchen's own, unchanged, where no delivery is overdue and no step has left, or is to leave, any of them.
    """
    kitchen = state.kitchen
    assert kitchen is not None
    left = _left_names(Same(kitchen))
    late = any(is_overdue(supply, kitchen, now) for supply in kitchen.supplies)
    here = {lot.ingredient for lot in state.pantry.by_products()}
    if not left and not late and all(supply.ingredient not in here for supply in kitchen.supplies):
        return kitchen.supplies
    told = {supply.ingredient: _by_now(state, kitchen, supply, now) for supply in kitchen.supplies}
    for name, unit in left:
        if name not in told or told[name].why == "left":
            told[name] = _only_left(state, kitchen, (name, unit), now)
    return tuple(told.values())


@lru_cache(maxsize=8)
def _left_names(same: Same[Kitchen]) -> tuple[tuple[str, Unit], ...]:
    return waited_for(same.thing)


def waited_for(kitchen: Kitchen) -> tuple[tuple[str, Unit], ...]:
    """Ingredients that come from nowhere but steps that leave them, and that some step takes, with their unit."""
    units: dict[str, Unit] = {}
    for take in (take for recipe in kitchen.recipes for step in recipe.steps for take in step.takes):
        if take.ingredient is not None:
            units.setdefault(take.ingredient, take.amount.unit)
    return tuple((name, units[name]) for name in sorted(only_left(kitchen)) if name in units)


def with_what_is_left(kitchen: Kitchen) -> Kitchen:
    """A kitchen as it is read, with what only steps leave among its supplies."""
    known = {supply.ingredient for supply in kitchen.supplies}
    more = tuple(
        Supply(
            ingredient=name,
            ready=kitchen.planned_until,
            why="left",
            on_hand=kitchen.buying.bought(name).on_hand or Quantity(value=0.0, unit=unit),
        )
        for name, unit in waited_for(kitchen)
        if name not in known
    )
    return kitchen.model_copy(update={"supplies": (*kitchen.supplies, *more)}) if more else kitchen


def _by_now(state: State, kitchen: Kitchen, supply: Supply, now: datetime) -> Supply:
    """A delivery or a ripening, with what steps have left since it was last counted."""
    made = [lot for lot in state.pantry.by_products() if lot.ingredient == supply.ingredient and is_free(state, lot.id)]
    since = supply.counted_at
    more = [lot for lot in made if since is None or lot.received_at > since]
    told: dict[str, object] = {}
    ready = expected_at(supply, kitchen, now)
    if ready != supply.ready:
        told["ready"] = ready
    if more:
        before = supply.on_hand.value if supply.on_hand is not None else 0.0
        total = before + sum(_whole(state, lot, now) for lot in more)
        told["on_hand"] = Quantity(value=total, unit=more[0].quantity.unit)
        told["counted_at"] = since if since is not None else min(lot.received_at for lot in more)
    return supply.model_copy(update=told) if told else supply


def _whole(state: State, lot: IngredientLot, now: datetime) -> float:
    """A lot with what was taken of it; past its date only that."""
    used = state.pantry.used(lot.id)
    past = lot.use_by is not None and lot.use_by < now
    return used + (0.0 if past else max(0.0, state.pantry.left(lot.id)))


def _only_left(state: State, kitchen: Kitchen, what: tuple[str, Unit], now: datetime) -> Supply:
    name, unit = what
    lots = state.pantry.open_lots(name, now, unit)
    there = sum(max(0.0, state.pantry.left(lot.id)) for lot in lots if is_free(state, lot.id))
    first = kitchen.buying.bought(name).on_hand
    if first is not None and first.unit is unit:
        # What was on hand at the start stands in no lot: what was used without one came from there.
        there += max(0.0, first.value - taken_without_lot(state, name, unit))
    return Supply(
        ingredient=name,
        ready=kitchen.planned_until,
        why="left",
        on_hand=Quantity(value=there, unit=unit),
        counted_at=now,
    )
