"""What people changed of the kitchen by hand, as far as the kitchen itself does not say it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Final

from orchestrator.core.changes_orders import less_wanted
from orchestrator.core.ids import CrewId, EquipmentId, LotCode, OrderId, RecipeId, StationId
from orchestrator.core.models import AllowedBreak, Kitchen, Order, StockLot, Stop
from orchestrator.core.quantities import Quantity

MOST_ENTRIES: Final = 50
"""So many changes are kept for the screens, the newest; the log has all of them."""


@dataclass(frozen=True, slots=True)
class LaterStop:
    """A machine that will be stopped from an instant on."""

    equipment: EquipmentId
    start: datetime
    end: datetime
    reason: str
    by: CrewId


@dataclass(frozen=True, slots=True)
class Allowance:
    """A quality window that a named person lets be missed, with a reason."""

    allowed: AllowedBreak
    reason: str
    by: CrewId
    at: datetime


@dataclass(frozen=True, slots=True)
class Count:
    """What was left of a product at a counter when it was last counted."""

    quantity: Quantity
    at: datetime
    by: CrewId


@dataclass(frozen=True, slots=True)
class Entry:
    """One change by hand, in words of the kitchen as it was before it."""

    seq: int
    at: datetime
    person: CrewId
    reason: str
    says: tuple[str, ...]
    dropped: tuple[Order, ...] = ()
    """Orders that it left out: they can be added again as they were."""


@dataclass(frozen=True, slots=True)
class KitchenBook:
    """Changes by hand."""

    imported: Kitchen | None = None
    """As its files had it when they were taken over."""
    changes: int = 0
    """How often it was changed by hand."""
    stops: tuple[LaterStop, ...] = ()
    """Told for later; once they begin they are stops like any other."""
    allowances: tuple[Allowance, ...] = ()
    shrunk: frozenset[tuple[OrderId, RecipeId]] = frozenset()
    """Less is wanted of these than the adopted plan makes: it is planned anew."""
    planned_orders: tuple[Order, ...] | None = None
    """What the adopted plan was made for."""
    planned_stock: frozenset[str] | None = None
    """Lots on hand when it was adopted."""
    entries: tuple[Entry, ...] = ()
    counts: Mapping[tuple[StationId, RecipeId], Count] = field(default_factory=dict)
    """The last count of each product at each counter."""

    def told_stops(self) -> tuple[Stop, ...]:
        """Stops told for later, as the planner is told of them."""
        return tuple(Stop(equipment=s.equipment, start=s.start, end=s.end) for s in self.stops)

    def allowed(self) -> tuple[AllowedBreak, ...]:
        """Windows that may be missed."""
        return tuple(one.allowed for one in self.allowances)

    def adopted(self, kitchen: Kitchen, *, provisional: bool) -> "KitchenBook":
        """A plan was adopted, which knows the kitchen as it is."""
        stock = frozenset(lot.lot for lot in kitchen.stock)
        shrunk = self.shrunk if provisional else frozenset()
        return replace(self, planned_orders=kitchen.orders, planned_stock=stock, shrunk=shrunk)

    def without(self, orders: Iterable[OrderId], lots: Iterable[LotCode]) -> "KitchenBook":
        """Orders and lots of former days are in no plan any more."""
        gone, empty = set(orders), set(map(str, lots))
        planned = self.planned_orders
        return replace(
            self,
            planned_orders=None if planned is None else tuple(one for one in planned if one.id not in gone),
            planned_stock=None if self.planned_stock is None else self.planned_stock - empty,
            shrunk=frozenset(pair for pair in self.shrunk if pair[0] not in gone),
        )

    def as_planned(self, kitchen: Kitchen) -> Kitchen:
        """The kitchen with the orders that the adopted plan was made for, and without lots that came later.

        Somebody who works by that plan can go on: what else is wanted, or no longer, the next plan says.
        """
        if self.planned_orders is None or self.planned_stock is None or not self.changes:
            return kitchen
        stock: Iterable[StockLot] = (lot for lot in kitchen.stock if lot.lot in self.planned_stock)
        return kitchen.model_copy(update={"orders": self.planned_orders, "stock": tuple(stock)})


def shrunk_between(before: Kitchen, after: Kitchen) -> frozenset[tuple[OrderId, RecipeId]]:
    """What orders that stay want less of."""
    now = {order.id: order for order in after.orders}
    pairs = ((order.id, less_wanted(order, now[order.id])) for order in before.orders if order.id in now)
    return frozenset((order, product) for order, products in pairs for product in products)
