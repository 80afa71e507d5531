"""By-products: what a step leaves over for other recipes, what it inherits, and which ingredient lots may be taken."""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta

from orchestrator.core.allergens import allergens_of, of_ingredient, stock_allergens
from orchestrator.core.ids import EquipmentId, LotCode, RecipeId, SupplyLotId, TaskId
from orchestrator.core.left_overs_in import left_overs_in
from orchestrator.core.lives import Clocks
from orchestrator.core.models import Batch, Equipment, Kitchen, Recipe, Step
from orchestrator.core.models.recipe import Leave
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.pantry import LEAST
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.state import LotRecord, LotStatus, State, TaskStatus


def record_of(state: State, lot: str) -> LotRecord | None:
    """What was decided about a lot of any kind, by-products included; none for one that is free from the start."""
    return state.lots.get(LotCode(lot))


def is_free(state: State, lot: str) -> bool:
    """Whether an ingredient lot may be used, its date left aside: neither on hold nor thrown away."""
    record = record_of(state, lot)
    return record is None or record.status is LotStatus.FREE


def open_lots(state: State, ingredient: str, now: datetime, unit: Unit | None = None) -> tuple[IngredientLot, ...]:
    """Lots of an ingredient that may be taken from, the one to be used first at the head: none past its use-by, on
    hold, thrown away or empty."""
    return tuple(lot for lot in state.pantry.open_lots(ingredient, now, unit) if is_free(state, lot.id))


def leavers(kitchen: Kitchen) -> Mapping[str, tuple[tuple[Recipe, Step, Leave], ...]]:
    """By ingredient: every step that leaves it."""
    found: dict[str, list[tuple[Recipe, Step, Leave]]] = {}
    for recipe in kitchen.recipes:
        for step in recipe.steps:
            for leave in step.leaves:
                found.setdefault(leave.ingredient, []).append((recipe, step, leave))
    return {name: tuple(those) for name, those in found.items()}


def only_left(kitchen: Kitchen) -> frozenset[str]:
    """Ingredients that are left by steps and that the kitchen says it never orders: there is no more of them."""
    return frozenset(name for name in leavers(kitchen) if not kitchen.buying.bought(name).ordered)


def amount_left(leave: Leave, batch: Batch) -> Quantity:
    """How much a batch of that size lets expect."""
    return leave.amount.times(batch.scale)


def place_for(kitchen: Kitchen, leave: Leave) -> EquipmentId | None:
    """The first store of the kind where it is kept; none where the recipe names none."""
    place = _store(kitchen, leave)
    return place.id if place is not None else None


def _store(kitchen: Kitchen, leave: Leave) -> Equipment | None:
    return next((e for e in kitchen.equipment if leave.kept_in is not None and e.kind == leave.kept_in), None)


def room_of(kitchen: Kitchen, leave: Leave, scale: float, amount: Quantity) -> float:
    """How much of the capacity of its place it takes, in the unit of that.

    Args:
        kitchen: With the place.
        leave: What the recipe says.
        scale: Of the batch.
        amount: What there is of it, for a recipe that writes no room.
    """
    place = _store(kitchen, leave)
    unit = place.capacity.unit if place is not None and place.capacity is not None else None
    if leave.room is not None and leave.room.unit is unit:
        return leave.room.value * scale
    return amount.value if amount.unit is unit else 0.0


def inherited_allergens(state: State, batch: Batch, step: Step, leave: Leave) -> tuple[str, ...]:
    """Its own, and those of what it is a part of: of one ingredient, or of all that had gone into the batch."""
    kitchen = state.kitchen
    recipe = kitchen.made_by(batch.recipe, batch.revision) if kitchen is not None else None
    found = set(leave.allergens)
    if kitchen is None or recipe is None:
        return tuple(sorted(found))
    recipes = {r.id: r for r in kitchen.recipes}
    for earlier in _until(recipe, step):
        for take in earlier.takes:
            if leave.of is None or (earlier.id == step.id and take.ingredient == leave.of):
                found |= set(take.allergens)
                if take.component is not None and take.component in recipes:
                    found |= allergens_of(recipes, recipes[take.component])
    for lot in _lots_in(state, batch, step, leave):
        found |= _of_lot(state, recipes, lot)
    return tuple(sorted(found))


def _of_lot(state: State, recipes: Mapping[RecipeId, Recipe], lot: str) -> set[str]:
    received = state.pantry.lots.get(SupplyLotId(lot))
    if received is not None:
        return set(pantry_allergens(state, received))
    batch = plan_index(state.plan).batches.get(LotCode(lot)) if state.plan is not None else None
    stock = kitchen_index(state.kitchen).stock.get(LotCode(lot)) if state.kitchen is not None else None
    if batch is not None:
        return set(batch.allergens)
    return stock_allergens(recipes, stock) if stock is not None else set()


def pantry_allergens(state: State, lot: IngredientLot) -> tuple[str, ...]:
    """Of a by-product its own, all of them; of an ingredient those that the recipes name and those it came with."""
    named = of_ingredient(state.kitchen, lot.ingredient) if lot.made_from is None and state.kitchen is not None else ()
    return tuple(sorted({*lot.allergens, *named}))


def _until(recipe: Recipe, step: Step) -> Iterator[Step]:
    for earlier in recipe.steps:
        yield earlier
        if earlier.id == step.id:
            return


def _lots_in(state: State, batch: Batch, step: Step, leave: Leave) -> Iterator[str]:
    """Lots that it is a part of, by the books."""
    recipe = state.kitchen.made_by(batch.recipe, batch.revision) if state.kitchen is not None else None
    for earlier in _until(recipe, step) if recipe is not None else ():
        task = TaskId(f"{batch.lot}.{earlier.id}")
        for use in state.pantry.uses.get(task, ()):
            if leave.of is None or (earlier.id == step.id and use.ingredient == leave.of):
                yield str(use.lot)
        taking = state.takings.get(task)
        if taking is not None and leave.of is None:
            yield from map(str, taking.lots)
    if leave.of is None:
        yield from reworked_into(state, batch.lot)


def reworked_into(state: State, lot: LotCode) -> Iterator[str]:
    """Lots that were reworked into a batch: no step takes them, and they are in all of it."""
    for task, taking in state.takings.items():
        if task.startswith(f"{lot}.rework-"):
            yield from map(str, taking.lots)


def use_by_of(state: State, batch: Batch, step: Step, leave: Leave, at: datetime) -> datetime | None:
    """The soonest of its own life, counted from ``at``, and of the dates of what it is a part of; none if nothing
    limits it."""
    dates = [at + timedelta(minutes=leave.keeps)] if leave.keeps is not None else []
    clocks = None
    if state.plan is not None and state.kitchen is not None:
        clocks = Clocks(
            state.plan,
            state.kitchen,
            lambda task: state.record(task).finished_at,
            lambda task: state.record(task).started_at,
            left_overs_in(state),
        )
    for lot in _lots_in(state, batch, step, leave):
        received = state.pantry.lots.get(SupplyLotId(lot))
        until = received.use_by if received is not None else clocks.use_by(LotCode(lot)) if clocks is not None else None
        if until is not None:
            dates.append(until)
    return min(dates, default=None)


def next_code(state: State, source: LotCode) -> SupplyLotId:
    """The code of the next lot that a batch leaves: ``C1-left-1``."""
    before = sum(lot.made_from == source for lot in state.pantry.lots.values())
    return SupplyLotId(f"{source}-left-{before + 1}")


def there_of(state: State, lot: IngredientLot) -> float:
    """What is left of a lot in its place, also while it is on hold; nothing of one that was thrown away."""
    record = record_of(state, lot.id)
    if record is not None and record.status is LotStatus.DISCARDED:
        return 0.0
    return max(0.0, state.pantry.left(lot.id))


def room_taken(state: State, lot: IngredientLot) -> float:
    """How much of its place's capacity what is left of a lot takes, in the unit of that."""
    left = there_of(state, lot)
    return lot.room * left / max(lot.quantity.value, left) if left > LEAST else 0.0


def used_by(state: State, lot: SupplyLotId) -> tuple[TaskId, ...]:
    """Tasks that have taken from an ingredient lot."""
    return tuple(task for task, uses in state.pantry.uses.items() if any(use.lot == lot for use in uses))


def is_over(state: State, task: TaskId) -> bool:
    """Whether a step has ended or was left out: it leaves nothing more."""
    return state.record(task).status in (TaskStatus.DONE, TaskStatus.SKIPPED)
