"""Demand that becomes orders: what a counter lacks to par in the morning, and what is wanted hour by hour."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from orchestrator.core.changes_orders import change_between
from orchestrator.core.ids import OrderId, RecipeId, StationId
from orchestrator.core.models import Kitchen, Order, OrderLine, Recipe
from orchestrator.core.models.change import AddOrder, ChangeOrder, DropOrder
from orchestrator.core.models.demand import Counted, ParLevel
from orchestrator.core.quantities import Quantity

NIGHT_ENDS: Final = time(4, 0)
"""Who counts after midnight counts the day before; a figure of ours."""


@dataclass(frozen=True, slots=True)
class ParRow:
    """One product at a counter: what is to be there, what was left, and what is missing."""

    par: ParLevel
    left: Quantity
    missing: Quantity


def missing_to_par(kitchen: Kitchen, station: StationId, counts: Iterable[Counted]) -> tuple[ParRow, ...]:
    """What a counter lacks: par less what was left, never less than nothing; what was not counted is left out."""
    left = {one.product: one.quantity for one in counts}
    rows = []
    for par in kitchen.par_levels:
        if par.station == station and par.product in left:
            short = max(0.0, par.quantity.value - left[par.product].value)
            rows.append(ParRow(par, left[par.product], Quantity(value=short, unit=par.quantity.unit)))
    return tuple(rows)


def order_to_par(
    kitchen: Kitchen, station: StationId, counts: Iterable[Counted], now: datetime
) -> AddOrder | ChangeOrder | DropOrder | None:
    """The order for the next morning that brings a counter to par.

    Counted again on the same evening, the order of the first count is changed, or left out where nothing is missing.

    Returns:
        The change that makes it so; none where nothing is to be done.
    """
    rows = missing_to_par(kitchen, station, counts)
    lines = tuple(OrderLine(product=row.par.product, quantity=row.missing) for row in rows if row.missing.value > 0)
    if not rows:
        return None
    zone = ZoneInfo(kitchen.time_zone)
    here = now.astimezone(zone)
    morning = here.date() if here.time() < NIGHT_ENDS else here.date() + timedelta(days=1)
    due = datetime.combine(morning, time.fromisoformat(min(row.par.by for row in rows)), zone).astimezone(UTC)
    name = OrderId(f"{morning:%y%m%d}-PAR-{_capital(station)}")
    known = next((order for order in kitchen.orders if order.id == name), None)
    if not lines:
        return DropOrder(order=name) if known is not None else None
    place = next((s.name for s in kitchen.stations if s.id == station), str(station))
    order = Order(id=name, customer=f"{place}, to par", due=due, lines=lines)
    if known is None:
        return AddOrder(order=order)
    return change_between(known, order.model_copy(update={"weight": known.weight, "earliest": known.earliest}))


def ordered_to_par(kitchen: Kitchen, station: StationId, product: RecipeId, now: datetime) -> bool:
    """Whether an order that brings a counter to par is under way for a product."""
    ours = re.compile(rf"[0-9]{{6}}-PAR-{re.escape(_capital(station))}")
    open_ = (order for order in kitchen.orders if order.due > now and ours.fullmatch(order.id))
    return any(line.product == product for order in open_ for line in order.lines)


def hourly_orders(
    kitchen: Kitchen, station: StationId, product: Recipe, day: date, wanted: Mapping[int, float]
) -> tuple[AddOrder, ...]:
    """One order for each hour of a day in which something is wanted, handed over as the hour begins.

    Args:
        kitchen: On whose clock the hours are; its orders keep their names.
        station: The counter.
        product: What is wanted.
        day: On that clock.
        wanted: Hour of the day (0 to 23) to amount, in the product's unit.
    """
    zone, taken = ZoneInfo(kitchen.time_zone), {str(order.id) for order in kitchen.orders}
    place = next((s.name for s in kitchen.stations if s.id == station), str(station))
    found = []
    for hour, amount in sorted(wanted.items()):
        if amount <= 0:
            continue
        stem = f"{day:%y%m%d}-{hour:02d}00-{_capital(station)}-{_capital(product.code)}"
        name = next(n for n in (stem, *(f"{stem}-{k}" for k in range(2, len(taken) + 3))) if n not in taken)
        taken.add(name)
        due = datetime.combine(day, time(hour), zone).astimezone(UTC)
        line = OrderLine(product=RecipeId(product.id), quantity=Quantity(value=amount, unit=product.yields.unit))
        order = Order(id=OrderId(name), customer=f"{place} {hour:02d}:00", due=due, lines=(line,))
        found.append(AddOrder(order=order))
    return tuple(found)


def _capital(text: str) -> str:
    return re.sub(r"[^A-Z0-9]+", "-", str(text).upper()).strip("-") or "X"
