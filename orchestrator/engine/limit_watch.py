"""Judges a probe's curve by the limit of the step in hand."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Literal

from orchestrator.core.limit_folds import fold_of, in_fahrenheit, tolerance_of
from orchestrator.core.limits import aim
from orchestrator.core.models import Kitchen, Step
from orchestrator.core.models.limit import Limit, LimitKind
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.ports.event_log import Reading
from orchestrator.thermal.cooling import Verdict as Cooling
from orchestrator.thermal.trend import Arrival
from orchestrator.thermal.verdict import Tolerant, Verdict


class LimitWatch:
    """One limit on one curve, in the column of the kitchen's unit."""

    def __init__(
        self, limit: Limit, fold: Tolerant, unit: Literal["C", "F"], reads: Literal["core", "air"] = "core"
    ) -> None:
        self._limit, self._fold, self._unit = limit, fold, unit
        self._of: Literal["food", "air"] = "food" if reads == "core" else "air"
        self._late = False
        """Whether it was last said that it will not be met in time."""

    def fold(self, reading: Reading) -> None:
        """Take one reading."""
        degrees = reading.celsius if self._unit == "C" else in_fahrenheit(reading.celsius)
        self._fold.fold(reading.measured_at.timestamp(), degrees)

    @property
    def limit(self) -> Limit:
        """What is asked."""
        return self._limit

    def verdict(self, now: datetime, arrival: Arrival | None, deadline: datetime | None = None) -> LimitVerdict:
        """What can be said at an instant.

        Args:
            now: The instant.
            arrival: When the next temperature asked for is expected, from the last reading.
            deadline: The step's longest end. It passes without the limit being broken: more time may still meet it.
        """
        return self.told(self.raw(now, arrival, deadline))

    def raw(self, now: datetime, arrival: Arrival | None, deadline: datetime | None = None) -> Verdict:
        """The same before it is put into the words of the record."""
        second, passed = now.timestamp(), deadline is not None and now > deadline
        if self._late and arrival is not None and arrival.likely_min is not None:
            # Once said it stands until the likely end is in time again: an estimate that breathes is one warning.
            arrival = Arrival(arrival.likely_min, arrival.latest_min, arrival.likely_min)
        said = self._fold.verdict(second, arrival, None if deadline is None or passed else deadline.timestamp())
        if said.status == "not yet" and (passed or (self._late and arrival is None)):
            said = replace(said, status="will not be met in time")
        self._late = said.status == "will not be met in time"
        return said

    def told(self, said: Verdict) -> LimitVerdict:
        """A verdict in the words of the record."""
        return LimitVerdict(
            limit=self._limit.id,
            title=self._limit.title,
            applied=self._limit.applied,
            row=said.row,
            status=said.status,
            of=self._of,
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


def met_by(
    said: LimitVerdict | None, watch: LimitWatch | None, own: datetime | None, *, aim_only: bool
) -> datetime | None:
    """When a target was met: by the limit where the step names one, and by a target of its own besides.

    Args:
        said: The limit's verdict, if there is one.
        watch: Whose it is.
        own: When the target was met without regard to the limit.
        aim_only: Whether the target is only what the limit asks for.
    """
    if said is None or watch is None:
        return own
    if said.status == "not judged" and said.gap is not None and watch.limit.kind is LimitKind.COOL:
        # Cooled, though nobody saw how fast: the target is met; that the limit was not judged is on record.
        return own
    if said.status != "met" or said.at is None:
        return None
    if aim_only:
        return said.at
    return None if own is None else max(own, said.at)


def cooled(said: LimitVerdict | None, watch: LimitWatch | None, otherwise: Cooling) -> Cooling:
    """How a cooling stands by the step's limit where it names one; ``otherwise`` by two legs from its start."""
    if said is None or watch is None or watch.limit.kind is not LimitKind.COOL or not otherwise:
        return otherwise
    rows = [row.id for row in watch.limit.rows]
    missed: Cooling = "first leg missed" if len(rows) > 1 and said.row == rows[0] else "second leg missed"
    words: dict[str, Cooling] = {
        "met": "met",
        "not yet": "on course",
        "broken": missed,
        "will not be met in time": "will be late",
    }
    return words.get(said.status, "")


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


def is_only_aim(kitchen: Kitchen, step: Step) -> bool:
    """Whether a step's target is what its limit asks for, and nothing more."""
    limit = None if step.limit is None else kitchen.limit(step.limit.id)
    if limit is None or step.limit is None:
        return False
    return step.target == aim(limit, step.limit, kitchen.temperature_unit)


def _at(second: float) -> datetime:
    return datetime.fromtimestamp(second, UTC)


def _instant(second: float | None) -> datetime | None:
    return None if second is None else _at(second)
