"""Ingredients that are not there from the start: which of them a task waits for."""

from orchestrator.core.models import Kitchen, Supply, TaskKind, TaskSpec


def supplies_of(kitchen: Kitchen, spec: TaskSpec) -> tuple[Supply, ...]:
    """What a task takes that is delivered, or ripe, only later; the last to come first.

    Args:
        kitchen: With its recipes and supplies.
        spec: A task of one of the recipes' steps.

    Returns:
        None for stays, clean-downs, and work whose ingredients are all there when planning starts.
    """
    recipe = kitchen.made_by(spec.recipe, spec.revision) if spec.recipe is not None else None
    if recipe is None or spec.kind is not TaskKind.WORK or not kitchen.supplies:
        return ()
    takes = (take for step in recipe.steps if step.id == spec.step for take in step.takes)
    wanted = {take.ingredient for take in takes if take.ingredient is not None}
    found = (supply for supply in kitchen.supplies if supply.ingredient in wanted)
    return tuple(sorted(found, key=lambda supply: supply.ready, reverse=True))
