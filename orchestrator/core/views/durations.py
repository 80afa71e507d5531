"""How long steps take in fact, against the recipe's figures."""

from collections.abc import Iterator

from orchestrator.core.durations import LEAST_SAMPLES, figures_of, learned
from orchestrator.core.models import Recipe, Step
from orchestrator.core.state import State
from orchestrator.core.views.figures import DurationView


def duration_views(state: State) -> tuple[DurationView, ...]:
    """Every step with minutes of its own, recipe by recipe; none before there is a kitchen."""
    recipes = state.kitchen.recipes if state.kitchen is not None else ()
    return tuple(view for recipe in recipes for view in _recipe(state, recipe))


def _recipe(state: State, recipe: Recipe) -> Iterator[DurationView]:
    for step in recipe.steps:
        view = _step(state, recipe, step)
        if view is not None:
            yield view


def _step(state: State, recipe: Recipe, step: Step) -> DurationView | None:
    present, key = figures_of(step), (recipe.id, step.id)
    if present is None:
        return None
    adopted, samples = state.adopted.get(key), state.samples.get(key, ())
    written = adopted.written if adopted is not None else present
    return DurationView(
        recipe=recipe.id,
        recipe_name=recipe.name,
        step=step.id,
        title=step.title,
        per_tray=step.cycle is not None,
        written=written,
        present=present,
        samples=len(samples),
        least_samples=LEAST_SAMPLES,
        learned=learned(samples, step, written),
        adopted_at=adopted.at if adopted is not None else None,
        adopted_by=adopted.person if adopted is not None else None,
        adopted_from=adopted.samples if adopted is not None else 0,
    )
