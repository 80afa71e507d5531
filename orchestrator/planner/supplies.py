"""Ingredients that are not there from the start: which of them a task waits for."""

from orchestrator.core.models import PlanRequest, Supply, TaskKind, TaskSpec
from orchestrator.core.supply_cover import Covered
from orchestrator.planner.demand import Demand
from orchestrator.planner.leavings import cover_in


def cover(request: PlanRequest, demand: Demand) -> Covered:
    """Which tasks there is enough of an awaited ingredient for, in the turn of the plan so far."""
    return cover_in(request, demand.batches, demand.pegs, demand.specs).enough


def supplies_of(
    request: PlanRequest, demand: Demand, spec: TaskSpec, known: Covered | None = None
) -> tuple[Supply, ...]:
    """What a task takes that is delivered, or ripe, only later; the last to come first.

    Args:
        request: With the kitchen's recipes and supplies.
        demand: All that is to be made: what is on hand of a short ingredient is shared out among it.
        spec: A task of one of the recipes' steps.
        known: What `cover` gives, where it has been worked out.

    Returns:
        None for stays, clean-downs, and work whose ingredients are all there when planning starts.
    """
    kitchen = request.kitchen
    recipe = kitchen.made_by(spec.recipe, spec.revision) if spec.recipe is not None else None
    if recipe is None or spec.kind is not TaskKind.WORK or not kitchen.supplies:
        return ()
    takes = (take for step in recipe.steps if step.id == spec.step for take in step.takes)
    wanted = {take.ingredient for take in takes if take.ingredient is not None}
    enough = known if known is not None else cover(request, demand)
    found = (s for s in kitchen.supplies if s.ingredient in wanted and (spec.id, s.ingredient) not in enough)
    return tuple(sorted(found, key=lambda supply: supply.ready, reverse=True))
