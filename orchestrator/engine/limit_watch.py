"""Judges a probe's curve by the limit of the step in hand."""

from collections.abc import Callable
from copy import deepcopy
from datetime import datetime
from math import inf
from typing import Literal

from orchestrator.core.ids import CrewId
from orchestrator.core.limit_folds import fold_of, in_fahrenheit
from orchestrator.core.limit_told import told
from orchestrator.core.limits import aim
from orchestrator.core.models import Kitchen, Step
from orchestrator.core.models.limit import Limit, LimitKind
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.state import TaskRecord
from orchestrator.ports.event_log import Reading
from orchestrator.thermal.cooling import Verdict as Cooling
from orchestrator.thermal.trend import Arrival
from orchestrator.thermal.verdict import Fold, Verdict, lasting

Ask = Callable[[], Arrival | None]


def _never() -> Arrival | None:
    return None


class LimitWatch:
    """One limit on one curve, in the column of the kitchen's unit."""

    def __init__(
        self, limit: Limit, fold: Fold, unit: Literal["C", "F"], reads: Literal["core", "air"] = "core"
    ) -> None:
        self._limit, self._fold, self._unit = limit, fold, unit
        self._of: Literal["food", "air"] = "food" if reads == "core" else "air"
        self._late = False
        """Whether it was last said that it will not be met in time."""
        self._heard_s: float | None = None
        self._filled: Fold | None = None
        """The same curve with readings by hand where the probe was silent; none until there is one."""
        self._by_hand: dict[float, CrewId | None] = {}

    def fold(self, reading: Reading) -> None:
        """Take one reading."""
        self._heard_s = reading.measured_at.timestamp()
        degrees = self._in_unit(reading.celsius)
        self._fold.fold(self._heard_s, degrees)
        if self._filled is not None:
            self._filled.fold(self._heard_s, degrees)

    def fill(self, record: TaskRecord, silent_after: int, until: datetime | None = None) -> None:
        """Take the readings by hand that fall into the probe's silence; those beside a probe that is heard count apart.

        Args:
            record: Of the task.
            silent_after: The probe counts as silent after so many minutes.
            until: The next reading of the probe; readings by hand from then on wait for it.
        """
        if self._of == "air" or (not record.hand_readings and self._filled is None):
            return
        if any(second not in {at.timestamp() for at, _ in record.hand_readings} for second in self._by_hand):
            self._filled, self._by_hand = None, {}  # one of them was taken back
        for at, celsius in record.hand_readings:
            second = at.timestamp()
            late = self._heard_s is not None and lasting(self._heard_s, second) > silent_after * 60.0
            if late and second not in self._by_hand and (until is None or at < until):
                self._filled = self._filled or deepcopy(self._fold)
                self._filled.fold(second, self._in_unit(celsius))
                self._by_hand[second] = record.hand_by.get(at)

    def _in_unit(self, celsius: float) -> float:
        return celsius if self._unit == "C" else in_fahrenheit(celsius)

    @property
    def waits(self) -> bool:
        """Whether anybody may ask yet when the next temperature is expected."""
        return self._waits(inf)

    def _waits(self, deadline_s: float | None) -> bool:
        filled = self._filled is not None and self._filled.waits(deadline_s)
        return self._late or filled or self._fold.waits(deadline_s)

    @property
    def limit(self) -> Limit:
        """What is asked."""
        return self._limit

    def verdict(self, now: datetime, arrival: Ask = _never, deadline: datetime | None = None) -> LimitVerdict:
        """What can be said at an instant.

        Args:
            now: The instant.
            arrival: Says when the next temperature asked for is expected, from the last reading; it is asked only
                where that can matter.
            deadline: The step's longest end. It passes without the limit being broken: more time may still meet it.
        """
        return self.told(self.raw(now, arrival, deadline))

    def raw(self, now: datetime, arrival: Ask = _never, deadline: datetime | None = None) -> Verdict:
        """The same before it is put into the words of the record."""
        second, passed = now.timestamp(), deadline is not None and now > deadline
        ends = None if deadline is None or passed else deadline.timestamp()
        expected = arrival() if self._waits(ends) else None
        unknown = expected is None
        if self._late and expected is not None and expected.likely_min is not None:
            # Once said it stands until the likely end is in time again: an estimate that breathes is one warning.
            expected = Arrival(expected.likely_min, expected.latest_min, expected.likely_min)
        said = self._fold.verdict(second, expected, ends)
        if said.status == "not judged" and self._filled is not None:
            said = self._filled.verdict(second, expected, ends)
        if said.status == "not yet" and (passed or (self._late and unknown)):
            said = said._replace(status="will not be met in time")
        self._late = said.status == "will not be met in time"
        return said

    def told(self, said: Verdict) -> LimitVerdict:
        """A verdict in the words of the record."""
        return told(self._limit, said, unit=self._unit, of=self._of, by_hand=self._by_hand)


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
