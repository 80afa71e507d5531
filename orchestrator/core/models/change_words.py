"""Words that changes are told in."""

from collections.abc import Iterable
from datetime import datetime

from orchestrator.core.ids import CrewId, EquipmentId, RecipeId, StationId
from orchestrator.core.models.kitchen import Kitchen, OrderLine
from orchestrator.core.quantities import Quantity, Unit


def clock(kitchen: Kitchen, instant: datetime, *, day: bool = True) -> str:
    """'Thu 26 Nov 09:00', or the time alone."""
    return kitchen.when(instant) if day else f"{kitchen.local(instant):%H:%M}"


def span(kitchen: Kitchen, start: datetime, end: datetime) -> str:
    """From when to when; the day once where it is the same."""
    same = kitchen.local(start).date() == kitchen.local(end).date()
    return f"{clock(kitchen, start)} to {clock(kitchen, end, day=not same)}"


def amount(quantity: Quantity) -> str:
    """'2 L', or '30' of what is counted."""
    return f"{quantity.value:.4g}" if quantity.unit is Unit.EACH else f"{quantity.value:.4g} {quantity.unit}"


def recipe(kitchen: Kitchen, recipe: RecipeId) -> str:
    """Its name."""
    return next((r.name for r in kitchen.recipes if r.id == recipe), recipe)


def lines(kitchen: Kitchen, lines: Iterable[OrderLine]) -> str:
    """What an order asks for."""
    return " and ".join(f"{amount(line.quantity)} {recipe(kitchen, line.product)}" for line in lines)


def station(kitchen: Kitchen, station: StationId) -> str:
    """Its name."""
    return next((s.name for s in kitchen.stations if s.id == station), station)


def person(kitchen: Kitchen, who: CrewId) -> str:
    """Their name."""
    return next((m.name for m in kitchen.crew if m.id == who), who)


def machine(kitchen: Kitchen, machine: EquipmentId) -> str:
    """Its name."""
    return next((m.name for m in kitchen.equipment if m.id == machine), machine)
