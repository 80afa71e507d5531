"""Which estimator follows a step in hand."""

from datetime import datetime, timedelta

from orchestrator.core.models import Step, Target
from orchestrator.thermal.estimates import Estimator, Prior, choose
from orchestrator.thermal.trend import Arrival


def estimator_of(step: Step, target: Target) -> Estimator:
    """An estimator that begins with the recipe's minutes; it counts from the first reading in the food."""
    goal = target.at_most if target.at_most is not None else target.at_least
    assert goal is not None  # a target has one bound
    minutes = step.duration
    prior = None if minutes is None else Prior(minutes.shortest, minutes.usual, minutes.longest)
    falls, place = target.at_most is not None, step.equipment or ""
    return choose(step.process.value, falls=falls, target=goal, place=place, prior=prior)


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
