"""Which estimator follows a step in hand."""

from orchestrator.core.models import Step, Target
from orchestrator.thermal.estimates import Estimator, Prior, choose


def estimator_of(step: Step, target: Target) -> Estimator:
    """An estimator that begins with the recipe's minutes; it counts from the first reading in the food."""
    goal = target.at_most if target.at_most is not None else target.at_least
    assert goal is not None  # a target has one bound
    minutes = step.duration
    prior = None if minutes is None else Prior(minutes.shortest, minutes.usual, minutes.longest)
    falls, place = target.at_most is not None, step.equipment or ""
    return choose(step.process.value, falls=falls, target=goal, place=place, prior=prior)
