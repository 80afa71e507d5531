"""Ingredients on record: lots as they were received, deliveries that were refused, and what of them went where."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from orchestrator.core.by_product_events import ByProductLeft, ByProductWeighed
from orchestrator.core.ids import EquipmentId, SupplyLotId, TaskId
from orchestrator.core.models.stock import IngredientLot, IngredientUse
from orchestrator.core.quantities import Unit
from orchestrator.core.stock_events import (
    DeliveryReceived,
    IngredientMeasured,
    IngredientSwapped,
    IngredientUsed,
    LotReworked,
    StockCounted,
)

LEAST = 1e-6
"""Less than this is nothing."""


@dataclass(frozen=True)
class Pantry:
    """All of it, by the code of the delivery, oldest first."""

    lots: Mapping[SupplyLotId, IngredientLot] = field(default_factory=dict)
    deliveries: tuple[DeliveryReceived, ...] = ()
    """Refused ones too."""
    uses: Mapping[TaskId, tuple[IngredientUse, ...]] = field(default_factory=dict)
    swaps: tuple[IngredientSwapped, ...] = ()
    """What stands in for what, or came with other allergens."""
    counted: Mapping[SupplyLotId, float] = field(default_factory=dict)
    """What counts have added to a lot, or taken from it."""
    readings: Mapping[SupplyLotId, tuple[tuple[datetime, float], ...]] = field(default_factory=dict)
    """Temperatures taken by hand in a lot: when and °C, oldest first."""
    overdue: Mapping[str, datetime] = field(default_factory=dict)
    """By ingredient: when a delivery that nobody has received is taken to come, as the last plan was asked for."""

    def used(self, lot: SupplyLotId) -> float:
        """How much of a lot has gone into tasks, in the unit it was received in."""
        return sum(
            use.quantity.value
            for uses in self.uses.values()
            for use in uses
            if use.lot == lot and use.quantity.unit is self.lots[lot].quantity.unit
        )

    def left(self, lot: SupplyLotId) -> float:
        """What the books say is left of a lot; below 0 where more was taken than they knew of."""
        return self.lots[lot].quantity.value + self.counted.get(lot, 0.0) - self.used(lot)

    def open_lots(self, ingredient: str, now: datetime, unit: Unit | None = None) -> tuple[IngredientLot, ...]:
        """Lots of an ingredient that may be taken from, the one to be used first at the head.

        One past its use-by is not offered, nor one of which nothing is left.
        """
        found = [
            lot
            for lot in self.lots.values()
            if lot.ingredient == ingredient
            and (unit is None or lot.quantity.unit is unit)
            and (lot.use_by is None or lot.use_by >= now)
            and self.left(lot.id) > LEAST
        ]
        return tuple(sorted(found, key=lambda lot: (lot.use_by is None, lot.use_by, lot.received_at, lot.id)))

    def with_delivery(self, event: DeliveryReceived) -> "Pantry":
        """After a delivery."""
        deliveries = (*self.deliveries, event)
        if event.outcome not in ("accepted", "short") or event.quantity is None:
            return replace(self, deliveries=deliveries)
        lot = IngredientLot(
            id=event.delivery,
            ingredient=event.ingredient,
            quantity=event.quantity,
            received_at=event.at,
            supplier=event.supplier,
            supplier_lot=event.supplier_lot,
            use_by=event.use_by,
            place=event.place,
        )
        return replace(self, deliveries=deliveries, lots={**self.lots, lot.id: lot})

    def with_by_product(self, event: ByProductLeft) -> "Pantry":
        """After a step has left something over."""
        lot = IngredientLot(
            id=event.lot,
            ingredient=event.ingredient,
            quantity=event.weighed or event.expected,
            received_at=event.at,
            use_by=event.use_by,
            place=event.place,
            made_from=event.made_from,
            task=event.task,
            of=event.of,
            weighed=event.weighed is not None,
            room=event.room,
            allergens=event.allergens,
        )
        return replace(self, lots={**self.lots, lot.id: lot})

    def with_weight(self, event: ByProductWeighed) -> "Pantry":
        """After a by-product was weighed; it takes as much more, or less, of its place."""
        known = self.lots.get(event.lot)
        if known is None:
            return self
        part = event.weighed.value / known.quantity.value if known.quantity.value > 0 else 1.0
        told = {"quantity": event.weighed, "weighed": True, "room": known.room * part}
        return replace(self, lots={**self.lots, event.lot: known.model_copy(update=told)})

    def with_reading(self, event: IngredientMeasured) -> "Pantry":
        """After somebody measured in the middle of a lot."""
        before = self.readings.get(event.lot, ())
        return replace(self, readings={**self.readings, event.lot: (*before, (event.at, event.celsius))})

    def by_products(self) -> tuple[IngredientLot, ...]:
        """Lots that steps have left, oldest first."""
        return tuple(lot for lot in self.lots.values() if lot.made_from is not None)

    def moved(self, lot: SupplyLotId, here: EquipmentId, to: EquipmentId) -> "Pantry":
        """After a lot was carried from one place to another."""
        known = self.lots.get(lot)
        if known is None or known.place != here:
            return self
        return replace(self, lots={**self.lots, lot: known.model_copy(update={"place": to})})

    def with_uses(self, event: IngredientUsed) -> "Pantry":
        """After somebody, or the books by themselves, said which lots a task takes."""
        others = tuple(u for u in self.uses.get(event.task, ()) if u.ingredient not in event.ingredients)
        return replace(self, uses={**self.uses, event.task: (*others, *event.uses)})

    def with_rework(self, event: LotReworked, task: TaskId) -> "Pantry":
        """After some of a lot went into a batch; under that name it stands among what tasks have taken."""
        known = self.lots.get(SupplyLotId(event.lot))
        if known is None:
            return self
        use = IngredientUse(lot=known.id, ingredient=known.ingredient, quantity=event.quantity)
        return replace(self, uses={**self.uses, task: (use,)})

    def with_count(self, event: StockCounted) -> "Pantry":
        """After a count of one of its lots."""
        lot = SupplyLotId(event.lot)
        more = event.counted.value - event.books.value
        return replace(self, counted={**self.counted, lot: self.counted.get(lot, 0.0) + more})

    def without(self, tasks: frozenset[TaskId]) -> "Pantry":
        """As if these tasks had taken nothing: their start was taken back."""
        if not tasks & self.uses.keys():
            return self
        return replace(self, uses={task: uses for task, uses in self.uses.items() if task not in tasks})

    def without_left_by(self, tasks: frozenset[TaskId]) -> "Pantry":
        """As if these tasks had left nothing over: their end was taken back."""
        if all(lot.task not in tasks for lot in self.lots.values()):
            return self
        lots = {name: lot for name, lot in self.lots.items() if lot.task is None or lot.task not in tasks}
        return replace(self, lots=lots, counted={lot: more for lot, more in self.counted.items() if lot in lots})
