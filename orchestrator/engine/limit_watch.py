"""Judges a probe's curve by the limit of the step in hand."""

from datetime import UTC, datetime
from typing import Literal

from orchestrator.core.limit_folds import fold_of, in_fahrenheit, tolerance_of
from orchestrator.core.models import Kitchen, Step
from orchestrator.core.models.limit import Limit
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.ports.event_log import Reading
from orchestrator.thermal.trend import Arrival
from orchestrator.thermal.verdict import Tolerant


class LimitWatch:
    """One limit on one curve, in the column of the kitchen's unit."""

    def __init__(self, limit: Limit, fold: Tolerant, unit: Literal["C", "F"]) -> None:
        self._limit, self._fold, self._unit = limit, fold, unit

    def fold(self, reading: Reading) -> None:
        """Take one reading."""
        degrees = reading.celsius if self._unit == "C" else in_fahrenheit(reading.celsius)
        self._fold.fold(reading.measured_at.timestamp(), degrees)

    def verdict(self, now: datetime, arrival: Arrival | None) -> LimitVerdict:
        """What can be said at an instant."""
        said = self._fold.verdict(now.timestamp(), arrival)
        return LimitVerdict(
            limit=self._limit.id,
            title=self._limit.title,
            applied=self._limit.applied,
            row=said.row,
            status=said.status,
            unit=self._unit,
            since=_instant(said.since_s),
            at=_instant(said.at_s),
            margin_degrees=said.margin_degrees,
            margin_min=said.margin_min,
            readings=tuple((_at(second), degrees) for second, degrees in said.readings),
            gap=None if said.gap is None else (_at(said.gap[0]), _at(said.gap[1])),
            why=said.why,
            tolerance_degrees=tolerance_of(self._unit),
            within_tolerance=said.within_tolerance,
        )


def unbelieved(said: LimitVerdict, since: datetime, why: str) -> LimitVerdict:
    """The same from a probe that may not be believed since then: never met by it; what it broke stays told."""
    if said.status == "broken" or (said.status == "met" and said.at is not None and said.at < since):
        return said
    return said.model_copy(update={"status": "not judged", "why": why, "at": None, "margin_degrees": None})


def watch_of(kitchen: Kitchen, step: Step, started_at: datetime) -> LimitWatch | None:
    """The watch of a step in hand, for a probe in the food; None where it has no limit that a curve can show."""
    limit = None if step.limit is None else kitchen.limit(step.limit.id)
    if limit is None:
        return None
    unit = kitchen.temperature_unit
    fold = fold_of(limit, unit=unit, began_s=started_at.timestamp(), use=step.limit)
    return None if fold is None else LimitWatch(limit, fold, unit)


def _at(second: float) -> datetime:
    return datetime.fromtimestamp(second, UTC)


def _instant(second: float | None) -> datetime | None:
    return None if second is None else _at(second)
