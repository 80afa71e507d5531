"""Ice that a step of a batch melts. Loads numpy: imported where it is asked for."""

from orchestrator.core.mix.work import Chill, chill_of
from orchestrator.core.models import PlannedTask
from orchestrator.core.plan_index import KitchenIndex, PlanIndex


def ice_for(kitchen: KitchenIndex, plan: PlanIndex, task: PlannedTask) -> Chill | None:
    """What a task melts of ice at its batch's size; nothing where it cools no batch, or its mix is not known."""
    recipe, batch = kitchen.made_by(task), plan.batches.get(task.lot) if task.lot is not None else None
    if recipe is None or batch is None or task.step is None:
        return None
    return chill_of(recipe, task.step, kitchen.kitchen, batch.scale)
