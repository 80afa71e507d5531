"""What the weights of a step that simmers down or dries say: how far it is, and when it will be there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from orchestrator.core.models import Duration, Step
from orchestrator.thermal.estimates import Prior, choose_weight
from orchestrator.thermal.trend import Arrival

Weighings = Sequence[tuple[datetime, float]]
"""Instants and kilograms, oldest first."""


@dataclass(frozen=True, slots=True)
class Reduced:
    """Where it stands."""

    wanted_kg: float
    reached: bool
    arrival: Arrival | None
    """Minutes from the newest weight; none when it is reached, or cannot be known."""
    why_none: str


def reduced(step: Step, weighings: Weighings, minutes: Duration) -> Reduced | None:
    """How far a step has come by its weights.

    Args:
        step: Of a recipe.
        weighings: Since it was begun; the first is what the wanted share is of.
        minutes: Of the whole step where it is done.

    Returns:
        None where the step is not followed by weight, or was not weighed yet.
    """
    if step.reduce_to is None or not weighings:
        return None
    begun, first_kg = weighings[0]
    wanted_kg = first_kg * step.reduce_to
    if weighings[-1][1] <= wanted_kg:
        return Reduced(wanted_kg, reached=True, arrival=None, why_none="")
    prior = Prior(minutes.shortest, minutes.usual, minutes.longest)
    estimator = choose_weight(step.process.value, target=step.reduce_to, prior=prior)
    for at, kilograms in weighings:
        estimator.fold((at - begun).total_seconds() / 60.0, kilograms / first_kg)
    # One weight has no pace: what a recipe says of it is no estimate.
    arrival = estimator.arrival(step.reduce_to) if len(weighings) > 1 else None
    why = "too few readings" if len(weighings) < 2 else estimator.why_none
    return Reduced(wanted_kg, reached=False, arrival=arrival, why_none=why)
