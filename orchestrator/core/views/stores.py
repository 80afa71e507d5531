"""Stores: how cold they are and what fills them."""

from datetime import timedelta
from typing import Final

from orchestrator.core.alarms import Look
from orchestrator.core.by_products import there_of
from orchestrator.core.ids import LotCode
from orchestrator.core.models import Equipment, PlannedTask, ProbeFact
from orchestrator.core.pantry import LEAST
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.state import TaskStatus
from orchestrator.core.views.models import FillBlock, StoreView

_BOOKED_AHEAD: Final = timedelta(hours=24)


def store_views(look: Look) -> tuple[StoreView, ...]:
    """All stores of the kitchen, in its order."""
    inside: dict[str, list[PlannedTask]] = {}
    for task in look.plan.tasks.values():
        machine = look.machine(task)
        if machine is not None and machine.store and task.lot is not None and not look.gone(task.lot):
            inside.setdefault(machine.id, []).append(task)
    return tuple(_store(look, e, inside.get(e.id, [])) for e in look.kitchen.equipment.values() if e.store)


def air(look: Look, place: Equipment) -> ProbeFact | None:
    """The latest fact of the probe in a place's air, or of any probe there."""
    probes = sorted(look.kitchen.probes_at.get(place.id, ()), key=lambda p: p.reads != "air")
    return next((look.facts[p.id] for p in probes if p.id in look.facts), None)


def _store(look: Look, place: Equipment, tasks: list[PlannedTask]) -> StoreView:
    fact = air(look, place)
    here: dict[LotCode, float] = {}
    booked: dict[LotCode, float] = {}
    for task in tasks:
        status = look.status(task)
        if task.lot is None:
            continue
        if status is TaskStatus.IN_HAND:
            here[task.lot] = here.get(task.lot, 0.0) + task.load
        elif status is TaskStatus.WAITING and look.live[task.id].start <= look.now + _BOOKED_AHEAD:
            booked[task.lot] = booked.get(task.lot, 0.0) + task.load
    for left in look.state.pantry.by_products():
        there = there_of(look.state, left)
        if left.place == place.id and left.room > 0 and there > LEAST and left.quantity.value > 0:
            here[LotCode(left.id)] = left.room * min(1.0, there / left.quantity.value)
    blocks = [FillBlock(lot=lot, litres=round(load, 2), booked=False) for lot, load in here.items()]
    blocks += [FillBlock(lot=lot, litres=round(load, 2), booked=True) for lot, load in booked.items()]
    return StoreView(
        equipment=place.id,
        name=place.name,
        floor=place.floor,
        celsius=fact.celsius if fact else None,
        silent_since=fact.silent_since if fact else None,
        outside_since=fact.outside_since if fact else None,
        low_c=place.holds.low if place.holds else None,
        high_c=place.holds.high if place.holds else None,
        capacity=place.capacity or Quantity(value=0.0, unit=Unit.LITRE),
        filled=round(sum(here.values()), 2),
        blocks=tuple(blocks),
    )
