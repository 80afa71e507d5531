"""Durations learned from finished tasks: robust figures, and a kitchen with figures that were adopted."""

from collections.abc import Sequence
from math import ceil, floor
from statistics import median, quantiles
from typing import Final

from orchestrator.core.ids import RecipeId, StepId
from orchestrator.core.models import Duration, Kitchen, Recipe, Step
from orchestrator.core.models.durations import Learned, Sample

StepKey = tuple[RecipeId, StepId]
LEAST_SAMPLES: Final = 9
"""The shortest and the longest of n samples lie, on average, at 1 / (n + 1) and n / (n + 1) of all there could be:
nine are the fewest that reach to one in ten on both sides (E. J. Gumbel, Statistics of Extremes, 1958)."""
MOST_SAMPLES: Final = 50
"""The newest of each step: habits change, and the state stays small."""
_CAP: Final = 3 * 1.4826
"""Nothing counts as further from the median than three times the scaled median absolute deviation: C. Leys and others,
"Detecting outliers: Do not use standard deviation around the mean, use absolute deviation around the median", Journal
of Experimental Social Psychology 49 (2013)."""
_LEAST_CAP: Final = 0.1
"""Samples that are all alike still allow a tenth of the median to either side; a figure of ours."""
_REACH: Final = 0.5068
"""A beta-PERT length with its peak in the middle has one in ten of its runs outside so much of the way from the middle
to either end (quantiles of the beta distribution with both exponents 3)."""


def step_of(kitchen: Kitchen, key: StepKey) -> Step | None:
    """The step of that recipe and name, if there is one with a length of its own."""
    recipe = next((r for r in kitchen.recipes if r.id == key[0]), None)
    step = next((s for s in recipe.steps if s.id == key[1]), None) if recipe is not None else None
    return step if step is not None and figures_of(step) is not None else None


def figures_of(step: Step) -> Duration | None:
    """A step's minutes, of short-cycle work those of a tray; none for a stay."""
    if step.duration is not None:
        return step.duration
    if step.cycle is not None:
        each = step.cycle.each
        return Duration(shortest=each, usual=each, longest=each)
    return None


def learned(samples: Sequence[Sample], step: Step, written: Duration) -> Learned | None:
    """What finished tasks say of a step.

    Args:
        samples: How long they took; wild ones are capped before anything is counted.
        step: The recipe's step.
        written: The recipe's own figures, also where others have been adopted since.

    Returns:
        Quantiles (one in ten, half, nine in ten) and the figures that follow from them; none with fewer than
        `LEAST_SAMPLES`. The figures of a critical step, and of one with a target, stay within what is written:
        how long food is held is the recipe's to say.
    """
    if len(samples) < LEAST_SAMPLES:
        return None
    minutes = capped([sample.minutes for sample in samples])
    deciles = quantiles(minutes, n=10, method="exclusive")
    low, middle, high = deciles[0], deciles[4], deciles[8]
    usual = max(1, round(middle))
    shortest = max(1, floor(middle - (middle - low) / _REACH + 1e-9))
    longest = ceil(middle + (high - middle) / _REACH - 1e-9)
    told = Duration(shortest=min(shortest, usual), usual=usual, longest=max(longest, usual))
    if step.cycle is not None:
        told = Duration(shortest=usual, usual=usual, longest=usual)  # a tray has one figure
    figures = _within(told, written) if step.critical or step.target is not None else told
    return Learned(
        samples=len(samples),
        low_min=low,
        median_min=middle,
        high_min=high,
        figures=figures,
        held_back=figures != told,
    )


def capped(minutes: Sequence[float]) -> list[float]:
    """Samples with the wild ones brought in, so that one forgotten tap does not bend the figures.

    Args:
        minutes: At least one.
    """
    middle = median(minutes)
    spread = median(abs(value - middle) for value in minutes)
    reach = max(_CAP * spread, _LEAST_CAP * middle, 1.0)
    return [min(max(value, middle - reach), middle + reach) for value in minutes]


def _within(told: Duration, written: Duration) -> Duration:
    shortest = max(told.shortest, written.shortest)
    longest = max(min(told.longest, written.longest), shortest)
    return Duration(shortest=shortest, usual=min(max(told.usual, shortest), longest), longest=longest)


def with_figures(kitchen: Kitchen, key: StepKey, figures: Duration) -> Kitchen:
    """The kitchen with other minutes in one step; the recipe keeps its revision, because what is done is the same."""
    recipes = tuple(_changed(recipe, key[1], figures) if recipe.id == key[0] else recipe for recipe in kitchen.recipes)
    return kitchen.model_copy(update={"recipes": recipes})


def _changed(recipe: Recipe, name: StepId, figures: Duration) -> Recipe:
    steps = []
    for step in recipe.steps:
        update: dict[str, object] = {}
        if step.id == name and step.duration is not None:
            update = {"duration": figures}
        elif step.id == name and step.cycle is not None:
            update = {"cycle": step.cycle.model_copy(update={"each": figures.usual})}
        steps.append(step.model_copy(update=update))
    return recipe.model_copy(update={"steps": tuple(steps)})
