"""What is expected at the door, what came, what is on hand of ingredients, what stands in for what."""

from dataclasses import dataclass
from datetime import datetime

from orchestrator.core.allergens import of_ingredient
from orchestrator.core.by_products import open_lots
from orchestrator.core.changes_supplies import ingredients
from orchestrator.core.deviations.standing import usable_lots
from orchestrator.core.ids import TaskId
from orchestrator.core.models import Supply
from orchestrator.core.models.stock import IngredientLot, IngredientUse
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.state import State, TaskStatus
from orchestrator.core.stock_events import DeliveryReceived, IngredientSwapped
from orchestrator.core.wanted import wanted

_KEPT_COLD = frozenset({"milk", "egg", "eggs", "fish", "crustaceans", "molluscs"})
"""Ingredients with these are taken to be kept cold, as a first setting of the form; whoever receives decides."""


@dataclass(frozen=True, slots=True)
class IngredientView:
    """An ingredient, as the form about it needs it."""

    name: str
    unit: Unit
    needed: float
    """By the plan, by work that has not begun."""
    first_needed: datetime | None
    here: float
    """By the books."""
    cold: bool
    supply: Supply | None
    waits: tuple[str, ...]
    """Titles and lots of the work that waits for it."""


@dataclass(frozen=True, slots=True)
class StockedView:
    """An ingredient lot and what is left of it."""

    lot: IngredientLot
    left: Quantity
    past: bool
    """Past its use-by: not offered."""
    place: str


@dataclass(frozen=True, slots=True)
class ReceivingView:
    """All of it."""

    expected: tuple[IngredientView, ...]
    ripening: tuple[IngredientView, ...]
    others: tuple[IngredientView, ...]
    stocked: tuple[StockedView, ...]
    deliveries: tuple[DeliveryReceived, ...]
    """The newest first."""
    swaps: tuple[IngredientSwapped, ...]


def receiving_view(state: State, now: datetime) -> ReceivingView:
    """Everything about ingredients at the door; empty before there is a kitchen."""
    if state.kitchen is None:
        return ReceivingView((), (), (), (), (), ())
    known = kitchen_index(state.kitchen)
    needs = _needs(state)
    taken = ingredients(state.kitchen)
    views = {name: _ingredient(state, name, amount.unit, needs, now) for name, amount in taken.items()}
    awaited = sorted((s for s in state.kitchen.supplies if s.ingredient in views), key=lambda s: s.ready)
    waiting = {supply.ingredient for supply in awaited}
    stocked = []
    for lot in state.pantry.lots.values():
        left = state.pantry.left(lot.id)
        if left > 0.0005:
            place = known.equipment.get(lot.place) if lot.place is not None else None
            past = lot.use_by is not None and lot.use_by < now
            amount = Quantity(value=left, unit=lot.quantity.unit)
            stocked.append(StockedView(lot, amount, past, place.name if place is not None else ""))
    return ReceivingView(
        expected=tuple(views[s.ingredient] for s in awaited if s.why == "delivery"),
        ripening=tuple(views[s.ingredient] for s in awaited if s.why == "ripe"),
        others=tuple(view for name, view in sorted(views.items()) if name not in waiting),
        stocked=tuple(sorted(stocked, key=lambda s: (s.lot.ingredient, s.lot.use_by is None, s.lot.use_by))),
        deliveries=tuple(reversed(state.pantry.deliveries)),
        swaps=tuple(reversed(state.pantry.swaps)),
    )


_Needs = dict[str, list[tuple[datetime, float, str]]]


def _needs(state: State) -> _Needs:
    """Of each ingredient: when, how much, for which work that has not begun."""
    found: _Needs = {}
    if state.plan is None or state.kitchen is None:
        return found
    threads = plan_index(state.plan)
    for task in state.plan.tasks:
        if state.record(task.id).status is TaskStatus.WAITING:
            for (name, _), amount in wanted(state.kitchen, threads, task).items():
                found.setdefault(name, []).append((task.start, amount, f"{task.title} ({task.lot or task.order})"))
    return found


def _ingredient(state: State, name: str, unit: Unit, needs: _Needs, now: datetime) -> IngredientView:
    kitchen = state.kitchen
    assert kitchen is not None
    mine = sorted(needs.get(name, []))
    here = sum(max(0.0, state.pantry.left(lot.id)) for lot in open_lots(state, name, now, unit))
    return IngredientView(
        name=name,
        unit=unit,
        needed=round(sum(amount for _, amount, _ in mine), 4),
        first_needed=mine[0][0] if mine else None,
        here=here,
        cold=bool(of_ingredient(kitchen, name) & _KEPT_COLD),
        supply=kitchen_index(kitchen).supplies.get(name),
        waits=tuple(says for _, _, says in mine[:4]),
    )


@dataclass(frozen=True, slots=True)
class UsedView:
    """Which lots of an ingredient a task has used, and which it could have."""

    ingredient: str
    uses: tuple[IngredientUse, ...]
    others: tuple[IngredientLot, ...]


def used_lots(state: State, task: TaskId, now: datetime) -> tuple[UsedView, ...]:
    """Of each ingredient of a begun task of which there are lots on record; none before it has begun."""
    if state.plan is None or state.kitchen is None or state.record(task).status is TaskStatus.WAITING:
        return ()
    threads = plan_index(state.plan)
    planned = threads.tasks.get(task)
    found = []
    for ingredient, unit in wanted(state.kitchen, threads, planned) if planned is not None else ():
        uses = tuple(u for u in state.pantry.uses.get(task, ()) if u.ingredient == ingredient)
        taken = {use.lot for use in uses}
        others = tuple(lot for lot in usable_lots(state, ingredient, now, unit) if lot.id not in taken)
        if uses or others:
            found.append(UsedView(ingredient, uses, others))
    return tuple(found)
