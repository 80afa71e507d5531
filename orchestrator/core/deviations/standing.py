"""What of a deviation is still to be decided."""

from collections.abc import Iterator
from datetime import datetime

from orchestrator.core.by_products import open_lots
from orchestrator.core.ids import EquipmentId, LotCode
from orchestrator.core.models.deviation import Deviation
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.quantities import Unit
from orchestrator.core.state import LotRecord, LotStatus, State


def open_deviations(state: State) -> tuple[Deviation, ...]:
    """Those that are not closed, the oldest first."""
    return tuple(deviation for deviation in state.deviations.values() if deviation.open)


def of_lot(state: State, lot: LotCode) -> tuple[Deviation, ...]:
    """All deviations that a lot is or was in, but for those that were taken back."""
    return tuple(d for d in state.deviations.values() if lot in d.lots and not d.withdrawn)


def held(state: State, lot: LotCode | None) -> bool:
    """Whether a lot is on hold."""
    record: LotRecord | None = state.lots.get(lot) if lot is not None else None
    return record is not None and record.status is LotStatus.ON_HOLD


def gone(state: State, lot: LotCode | None) -> bool:
    """Whether a lot was discarded or is to be reworked."""
    record = state.lots.get(lot) if lot is not None else None
    return record is not None and record.status in (LotStatus.DISCARDED, LotStatus.REWORK)


def settled(state: State, deviation: Deviation, lot: LotCode) -> bool:
    """Whether somebody has decided what becomes of a lot, as far as this deviation goes.

    Of a lot of former days nothing is left to be decided about; orders that got food of it are on the deviation.
    """
    disposition = deviation.disposition(lot)
    if disposition is not None and disposition.at >= deviation.asked_since and not _held_here(state, deviation, lot):
        return True
    if gone(state, lot) or state.past.has(lot):
        return True
    answer = deviation.answer(lot) if deviation.facts.asked else None
    return answer is not None and answer.answer in ("moved", "kept") and not held(state, lot)


def _held_here(state: State, deviation: Deviation, lot: LotCode) -> bool:
    """Whether it went on hold again after its disposition, with no other deviation to say why."""
    disposition = deviation.disposition(lot)
    record = state.lots.get(lot)
    if record is None or disposition is None or not held(state, lot) or record.since < disposition.at:
        return False
    return not any(d.id != deviation.id and d.open and lot in d.lots for d in state.deviations.values())


def undecided(state: State, deviation: Deviation) -> tuple[LotCode, ...]:
    """The lots of a deviation about which somebody must still decide."""
    return tuple(lot for lot in deviation.lots if not settled(state, deviation, lot))


def asked_about(state: State, lot: LotCode) -> Deviation | None:
    """The place that failed with the lot in it, as long as nobody has decided about the lot."""
    return next((d for d in places_failed(state) if lot in d.lots and not settled(state, d, lot)), None)


def places_failed(state: State, equipment: EquipmentId | None = None) -> Iterator[Deviation]:
    """Open deviations of places that failed, of one place or of all."""
    for deviation in state.deviations.values():
        of_place = deviation.facts.asked and (equipment is None or deviation.facts.equipment == equipment)
        if deviation.open and of_place:
            yield deviation


def usable_lots(state: State, ingredient: str, now: datetime, unit: Unit | None = None) -> tuple[IngredientLot, ...]:
    """Open lots but for those that stood in a place that failed, until somebody has decided about them."""
    found = open_lots(state, ingredient, now, unit)
    return tuple(lot for lot in found if asked_about(state, LotCode(lot.id)) is None)
