"""Left-overs with a date that have gone into batches: what is made has no later date than they have.

Source: that what is combined keeps the date of what was prepared first is FDA Food Code 2022, 3-501.17(D), and that
freezing stops the count its Annex 3 on the same paragraph; both from memory. That food cooked again by a limit is
prepared anew, and so has a date of its own, is common practice of the trade; local code decides.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache

from orchestrator.core.ids import LotCode, StepId, TaskId
from orchestrator.core.models import Kitchen, LeftOverIn, Step
from orchestrator.core.models.limit import LimitKind
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.pantry import LEAST, Pantry
from orchestrator.core.plan_index import Same
from orchestrator.core.state import State

_REWORK = ".rework-"


def left_overs_in(state: State) -> tuple[LeftOverIn, ...]:
    """Those of batches in the plan, as they were taken; reworked ones stand on their batch, see `Batch.oldest`."""
    kitchen, plan = state.kitchen, state.plan
    if kitchen is None or plan is None:
        return ()
    found, by_batch = [], _taken(Same(state.pantry))
    takes = [(batch, *took) for batch in plan.batches for took in by_batch.get(batch.lot, ())]
    for batch, task, lot in takes:
        step, at = task.partition(".")[2], state.record(task).started_at
        recipe = kitchen.made_by(batch.recipe, batch.revision)
        if recipe is None or at is None or lot.use_by is None:
            continue
        steps = [one for one in recipe.steps if one.per == "batch"]
        later = steps[next((n for n, one in enumerate(steps) if one.id == step), len(steps)) :]
        cooked = _cooked_in(kitchen, later)
        taken = {"task": task, "lot": LotCode(lot.id), "at": at, "made": lot.received_at, "until": lot.use_by}
        found.append(LeftOverIn.model_validate({**taken, "cooked_in": cooked}))
    return tuple(found)


@lru_cache(maxsize=4)
def _taken(same: Same[Pantry]) -> Mapping[LotCode, Sequence[tuple[TaskId, IngredientLot]]]:
    """By batch, of all that tasks have ever taken: looked through once for each state of the pantry, for years of it
    stay there, and the plan has batches of a few days."""
    pantry, found = same.thing, dict[LotCode, list[tuple[TaskId, IngredientLot]]]()
    for task, uses in pantry.uses.items():
        for use in uses if _REWORK not in task else ():
            lot = pantry.lots.get(use.lot)
            if lot is not None and lot.made_from is not None and lot.use_by is not None and use.quantity.value > LEAST:
                found.setdefault(LotCode(task.partition(".")[0]), []).append((task, lot))
    return found


def _cooked_in(kitchen: Kitchen, later: Sequence[Step]) -> StepId | None:
    """The first of these steps that cooks by a limit."""
    for step in later:
        limit = kitchen.limit(step.limit.id) if step.limit is not None else None
        if limit is not None and limit.kind is LimitKind.HEAT:
            return step.id
    return None
