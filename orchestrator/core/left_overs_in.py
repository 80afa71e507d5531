"""Left-overs with a date that have gone into batches: what is made has no later date than they have.

Source: that what is combined keeps the date of what was prepared first is FDA Food Code 2022, 3-501.17(D), and that
freezing stops the count its Annex 3 on the same paragraph; both from memory. That food cooked again by a limit is
prepared anew, and so has a date of its own, is common practice of the trade; local code decides.
"""

from collections.abc import Sequence
from functools import lru_cache

from orchestrator.core.ids import LotCode, StepId, TaskId
from orchestrator.core.models import Kitchen, LeftOverIn, Step
from orchestrator.core.models.limit import LimitKind
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.pantry import LEAST, Pantry
from orchestrator.core.plan_index import Same, plan_index
from orchestrator.core.state import State

_REWORK = ".rework-"


def left_overs_in(state: State) -> tuple[LeftOverIn, ...]:
    """Those of batches in the plan, as they were taken; reworked ones stand on their batch, see `Batch.oldest`."""
    found, kitchen, plan = [], state.kitchen, state.plan
    for task, lot in _taken(Same(state.pantry)) if kitchen is not None and plan is not None else ():
        assert kitchen is not None
        assert plan is not None
        code, _, step = task.partition(".")
        batch, at = plan_index(plan).batches.get(LotCode(code)), state.record(task).started_at
        recipe = kitchen.made_by(batch.recipe, batch.revision) if batch is not None else None
        if recipe is None or at is None or lot.use_by is None:
            continue
        steps = [one for one in recipe.steps if one.per == "batch"]
        later = steps[next((n for n, one in enumerate(steps) if one.id == step), len(steps)) :]
        cooked = _cooked_in(kitchen, later)
        taken = {"task": task, "lot": LotCode(lot.id), "at": at, "made": lot.received_at, "until": lot.use_by}
        found.append(LeftOverIn.model_validate({**taken, "cooked_in": cooked}))
    return tuple(found)


@lru_cache(maxsize=4)
def _taken(same: Same[Pantry]) -> tuple[tuple[TaskId, IngredientLot], ...]:
    """Of all that tasks have ever taken, looked through once for each state of the pantry."""
    pantry, found = same.thing, []
    for task, uses in pantry.uses.items():
        for use in uses if _REWORK not in task else ():
            lot = pantry.lots.get(use.lot)
            if lot is not None and lot.made_from is not None and lot.use_by is not None and use.quantity.value > LEAST:
                found.append((task, lot))
    return tuple(found)


def _cooked_in(kitchen: Kitchen, later: Sequence[Step]) -> StepId | None:
    """The first of these steps that cooks by a limit."""
    for step in later:
        limit = kitchen.limit(step.limit.id) if step.limit is not None else None
        if limit is not None and limit.kind is LimitKind.HEAT:
            return step.id
    return None
