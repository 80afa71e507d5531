"""Which work a short delivery is enough for: what goes beyond what is there waits for the rest."""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime

from orchestrator.core.ids import TaskId
from orchestrator.core.models import Batch, Kitchen, Recipe, Supply
from orchestrator.core.state import State, TaskStatus

Covered = frozenset[tuple[TaskId, str]]
"""Task and ingredient: of it enough is there."""
_EPS = 1e-6
_LAST = datetime.max.replace(tzinfo=UTC)


def covered(
    kitchen: Kitchen, batches: Iterable[Batch], starts: Mapping[TaskId, datetime], begun: set[TaskId]
) -> Covered:
    """Which tasks what is on hand of short ingredients is enough for: first what has begun, then by their starts.

    Args:
        kitchen: With supplies that say how much is on hand.
        batches: Whose steps take the ingredients.
        starts: When tasks start, in fact or by the last plan; those without come last.
        begun: What has begun; what began before an amount was counted took from what was there before.

    Returns:
        Empty where no supply is short: then all work waits for it.
    """
    short = {s.ingredient: s for s in kitchen.supplies if s.on_hand is not None}
    if not short:
        return frozenset()
    wanted: list[tuple[bool, datetime, TaskId, str, float]] = []
    for batch in batches:
        for task, ingredient, amount in _takes(kitchen.made_by(batch.recipe, batch.revision), batch):
            if ingredient in short:
                wanted.append((task not in begun, starts.get(task, _LAST), task, ingredient, amount))
    left = {name: supply.on_hand.value for name, supply in short.items() if supply.on_hand is not None}
    found = set()
    for waits, start, task, ingredient, amount in sorted(wanted):
        if not waits and start < _since(short[ingredient]):
            continue
        if amount <= left[ingredient] + _EPS:
            left[ingredient] -= amount
            found.add((task, ingredient))
    return frozenset(found)


def covered_now(state: State) -> Covered:
    """The same, by what has happened and the adopted plan."""
    kitchen, plan = state.kitchen, state.plan
    if kitchen is None or plan is None or all(s.on_hand is None for s in kitchen.supplies):
        return frozenset()
    starts = {task.id: state.record(task.id).started_at or task.start for task in plan.tasks}
    begun = {task for task, record in state.tasks.items() if record.status is not TaskStatus.WAITING}
    return covered(kitchen, plan.batches, starts, begun)


def _since(supply: Supply) -> datetime:
    return supply.counted_at if supply.counted_at is not None else datetime.min.replace(tzinfo=UTC)


def _takes(recipe: Recipe | None, batch: Batch) -> Iterable[tuple[TaskId, str, float]]:
    for step in recipe.steps if recipe is not None else ():
        amounts: dict[str, float] = {}
        for take in step.takes if step.per == "batch" else ():
            if take.ingredient is not None:
                amounts[take.ingredient] = amounts.get(take.ingredient, 0.0) + take.amount.value * batch.scale
        for ingredient, amount in amounts.items():
            yield TaskId(f"{batch.lot}.{step.id}"), ingredient, amount
