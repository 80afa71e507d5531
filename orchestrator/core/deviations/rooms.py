"""Where food can go when the place it is in fails."""

from datetime import datetime
from typing import Final

from orchestrator.core.by_products import room_taken
from orchestrator.core.deviations.places import FROZEN_C, failures, inside, on_hand
from orchestrator.core.ids import EquipmentId, LotCode
from orchestrator.core.models import Equipment
from orchestrator.core.plan_index import kitchen_index
from orchestrator.core.state import Facts, State

_EPSILON: Final = 1e-6


def rooms(state: State, facts: Facts, now: datetime, here: EquipmentId, lot: LotCode) -> tuple[Equipment, ...]:
    """Stores that a lot can be moved to: as cold by their band, without a failure of their own, with room by now."""
    assert state.kitchen is not None
    known, holding = kitchen_index(state.kitchen), inside(state)
    place = known.equipment[here]
    load = sum(task.load for task in holding.get(here, ()) if task.lot == lot)
    load += sum(room_taken(state, stands) for stands in on_hand(state, here) if str(stands.id) == lot)
    found = []
    for other in known.equipment.values():
        if other.id == here or not other.store or not _as_cold(place, other):
            continue
        filled = sum(task.load for task in holding.get(other.id, ()))
        filled += sum(room_taken(state, stands) for stands in on_hand(state, other.id))
        same_unit = place.capacity is None or other.capacity is None or place.capacity.unit is other.capacity.unit
        fits = other.capacity is None or filled + load <= other.capacity.value + _EPSILON
        if same_unit and fits and not any(failures(state, other, facts, now, holding.get(other.id, []))):
            found.append(other)
    return tuple(found)


def _as_cold(place: Equipment, other: Equipment) -> bool:
    if place.holds is None:
        return True
    if other.holds is None:
        return False
    frozen = place.holds.high < FROZEN_C
    # Frozen to frozen, chilled to chilled: what must not freeze is no better off in a freezer.
    return other.holds.high <= place.holds.high and (frozen or other.holds.low is not None)
