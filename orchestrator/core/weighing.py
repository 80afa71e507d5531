"""What the weights of a step that simmers down or dries say: how far it is, and when it will be there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from orchestrator.core.models import Duration, Step
from orchestrator.core.pace_events import ReductionLearned
from orchestrator.thermal.estimates import TOO_FEW, ByWeights, Estimator, Prior, choose_weight, takes_longer, usual_way
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
    earlier_runs: int = 0
    """How many runs before this one the arrival leans on."""


def reduced(
    step: Step,
    weighings: Weighings,
    minutes: Duration,
    earlier: Sequence[ReductionLearned] = (),
    scale: float = 1.0,
) -> Reduced | None:
    """How far a step has come by its weights.

    Args:
        step: Of a recipe.
        weighings: Since it was begun; the first is what the wanted share is of.
        minutes: Of the whole step where it is done.
        earlier: Runs of the same step in the same place.
        scale: Of this batch.

    Returns:
        None where the step is not followed by weight, or was not weighed yet.
    """
    if step.reduce_to is None or not weighings:
        return None
    begun, first_kg = weighings[0]
    wanted_kg = first_kg * step.reduce_to
    if weighings[-1][1] <= wanted_kg:
        return Reduced(wanted_kg, reached=True, arrival=None, why_none="")
    estimator = _estimator(step, step.reduce_to, minutes, earlier, scale)
    for at, kilograms in weighings:
        estimator.fold((at - begun).total_seconds() / 60.0, kilograms / first_kg)
    if len(weighings) < 2 and isinstance(estimator, Estimator):
        # One weight has no pace: what a recipe says of it is no estimate. Earlier runs are.
        return Reduced(wanted_kg, reached=False, arrival=None, why_none=TOO_FEW)
    arrival = estimator.arrival(step.reduce_to)
    runs = estimator.runs if isinstance(estimator, ByWeights) and arrival is not None else 0
    return Reduced(wanted_kg, reached=False, arrival=arrival, why_none=estimator.why_none, earlier_runs=runs)


def _estimator(
    step: Step, reduce_to: float, minutes: Duration, earlier: Sequence[ReductionLearned], scale: float
) -> Estimator | ByWeights:
    """By earlier runs, where there are any; else by the recipe's minutes."""
    process = step.process.value
    known = usual_way([(run.weights, takes_longer(process, run.scale)) for run in earlier], reduce_to)
    if known is not None:
        return ByWeights(process, known, scale)
    return choose_weight(process, target=reduce_to, prior=Prior(minutes.shortest, minutes.usual, minutes.longest))
