"""Which estimator follows a step in hand, and how often it is asked."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.models import Step, Target
from orchestrator.core.paces import earlier_runs, scale_of
from orchestrator.core.state import State
from orchestrator.engine.in_hand import InHand
from orchestrator.thermal.estimates import (
    TOO_FEW,
    Estimator,
    PaceRecorder,
    Prior,
    Recalled,
    choose,
    learns_pace,
    recall,
    usual,
)
from orchestrator.thermal.trend import Arrival

OLDEST_SHARE: Final = 0.02
"""An answer is no older than this share of the soonest wait that it tells, or than `NEWEST_MIN` if that is more."""
NEWEST_MIN: Final = 1.0 / 6.0
"""Ten seconds: no estimate is that exact."""
OLDEST_MIN: Final = 3.0
"""Nor, in any case, than this; all in minutes of the probe's time."""


def estimator_of(step: Step, target: Target) -> Estimator:
    """An estimator that begins with the recipe's minutes; it counts from the first reading in the food."""
    minutes = step.duration
    prior = None if minutes is None else Prior(minutes.shortest, minutes.usual, minutes.longest)
    falls, place = target.at_most is not None, step.equipment or ""
    return choose(step.process.value, falls=falls, target=target.celsius, place=place, prior=prior)


def foretold_of(in_hand: InHand, state: State) -> "Foretold":
    """What follows a step in hand: by its curve, and by earlier runs of it in the same place where there are any."""
    plain, goal = estimator_of(in_hand.step, in_hand.target), in_hand.target.celsius
    if in_hand.planned is None or in_hand.equipment is None or recorder_of(in_hand) is None:
        return Foretold(plain)
    runs = earlier_runs(state, in_hand.planned, in_hand.equipment, goal)
    known = usual([(run.bands, run.scale) for run in runs])
    if known is None:
        return Foretold(plain)
    return Foretold(recall(plain, known, scale=scale_of(state, in_hand.planned), target=goal), known.runs)


def recorder_of(in_hand: InHand) -> PaceRecorder | None:
    """Keeps the pace of a step of which the next run can learn; none for others."""
    goal, falls = in_hand.target.celsius, in_hand.target.at_most is not None
    return PaceRecorder(goal) if learns_pace(in_hand.step.process.value, falls=falls, target=goal) else None


def oldest_min(soonest_min: float) -> float:
    """How old an answer may become that tells of so many minutes; none at all: after so many minutes of readings."""
    return min(max(OLDEST_SHARE * soonest_min, NEWEST_MIN), OLDEST_MIN)


@dataclass(slots=True)
class Expectation:
    """When a target is expected, in instants: these stand until it is worked out anew."""

    asked_min: float
    """The reading after which it was worked out."""
    told: Arrival
    """From there."""
    soonest_at: datetime
    latest_at: datetime
    news: bool = True
    """Whether nobody has looked at it yet."""

    def arrival(self, minute: float) -> Arrival:
        """The same in minutes from a later reading."""
        passed = minute - self.asked_min
        if passed <= 0.0:
            return self.told
        likely = self.told.likely_min
        return Arrival(
            max(0.0, self.told.soonest_min - passed),
            max(0.0, self.told.latest_min - passed),
            None if likely is None else max(0.0, likely - passed),
        )


class Foretold:
    """An estimator that takes every reading, and is asked only as often as its answer can matter.

    Nothing that has come about depends on it: a limit that is met, broken or passed is so by the readings. What is
    foretold is ten seconds old at most, or a fiftieth of the time that is left (three minutes): a warning comes at most
    so much later than if it were worked out with every reading. Where readings stop, `settle` has the last ones looked
    at.
    """

    def __init__(self, estimator: Estimator | Recalled, earlier_runs: int = 0) -> None:
        self._estimator = estimator
        self.earlier_runs = earlier_runs
        """How many runs before this one it leans on."""
        self._minute = self._first = 0.0
        self._at: datetime | None = None
        self._known: dict[float, Expectation | None] = {}
        self._due: dict[float, float] = {}
        """By target: from which minute on it is worked out anew."""
        self._why: dict[float, str] = {}

    def fold(self, minute: float, at: datetime, celsius: float) -> None:
        """Take one reading."""
        self._estimator.fold(minute, celsius)
        self._first = minute if self._at is None else self._first
        self._minute, self._at = minute, at

    def settle(self, minute: float) -> None:
        """Time has passed without a reading: what is older by now than it may be is worked out anew when next asked."""
        for target, due in self._due.items():
            if minute >= due:
                self._due[target] = 0.0

    def when(self, target: float) -> Expectation | None:
        """When a target is expected; none where it cannot be known, for the reason in `why_none`."""
        if self._at is None:
            return None
        if self._minute >= self._due.get(target, 0.0):
            self._known[target] = self._worked_out(target, self._at)
        return self._known[target]

    def arrival(self, target: float) -> Arrival | None:
        """The same in minutes from the newest reading."""
        found = self.when(target)
        return None if found is None else found.arrival(self._minute)

    def why_none(self, target: float) -> str:
        """Why a target's newest answer was none; empty when there was one."""
        return self._why.get(target, self._estimator.why_none)

    def _worked_out(self, target: float, at: datetime) -> Expectation | None:
        arrival = self._estimator.arrival(target)
        self._why[target] = why = self._estimator.why_none
        good_for = 0.0 if why == TOO_FEW else oldest_min(self._minute - self._first)
        if arrival is not None:
            good_for = oldest_min(arrival.soonest_min)
        # To the microsecond: after just so long it is due, however the binary fractions fall.
        self._due[target] = self._minute + good_for - 1e-8
        if arrival is None:
            return None
        soonest, latest = (at + timedelta(minutes=m) for m in (arrival.soonest_min, arrival.latest_min))
        return Expectation(self._minute, arrival, soonest, latest)


def moved_end(before: datetime | None, at: datetime, arrival: Arrival) -> datetime:
    """The expected end that plans are made with: the old one while it lies in the interval, or nearly so.

    It is moved only when the interval has left it by 5 min or more, or a tenth of the time left where that is longer:
    an interval of 90 % leaves the truth seldom, so plans are not moved by noise.

    Args:
        before: what was expected until now.
        at: instant of the newest reading.
        arrival: minutes from it.
    """
    likely = at + timedelta(minutes=arrival.latest_min if arrival.likely_min is None else arrival.likely_min)
    band = max(timedelta(minutes=5), (likely - at) / 10)
    if before is not None and abs(likely - before) < band:
        return before
    inside = at + timedelta(minutes=arrival.soonest_min) <= (before or at) <= at + timedelta(minutes=arrival.latest_min)
    return before if before is not None and inside else likely
