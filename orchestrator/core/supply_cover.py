"""Which work there is enough of an awaited ingredient for: what goes beyond what is there, or is left over by steps in
time, waits for the rest."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import lru_cache

from orchestrator.core.by_products import amount_left
from orchestrator.core.ids import TaskId
from orchestrator.core.models import Batch, Kitchen, Plan, Recipe, Supply
from orchestrator.core.plan_index import Same
from orchestrator.core.state import State, TaskStatus
from orchestrator.core.supplies_now import supplies_now

Covered = frozenset[tuple[TaskId, str]]
"""Task and ingredient: of it enough is there."""
_EPS = 1e-6
_FIRST = datetime.min.replace(tzinfo=UTC)
_LAST = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Cover:
    """What work need not wait for a supply."""

    enough: Covered = frozenset()
    after: Mapping[tuple[TaskId, str], tuple[tuple[TaskId, int | None], ...]] = field(default_factory=dict)
    """Of those, what some wait for instead: steps that leave it, and for how many minutes it keeps."""


@dataclass(slots=True)
class _Source:
    """What a step that is not over will leave."""

    task: TaskId
    ends: datetime | None
    keeps: int | None
    left: float

    def fits(self, start: datetime | None) -> bool:
        """Whether it keeps until then, as far as both instants are known."""
        if self.ends is None or start is None or self.keeps is None:
            return True
        return self.ends + timedelta(minutes=self.keeps) >= start


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of the tasks of some batches."""

    starts: Mapping[TaskId, datetime]
    """In fact or by the last plan; else a guess, or left out."""
    ends: Mapping[TaskId, datetime]
    begun: set[TaskId]
    over: set[TaskId]


def cover(kitchen: Kitchen, batches: Iterable[Batch], known: Known) -> Cover:
    """Which tasks there is enough for: first what has begun, then by their starts.

    Args:
        kitchen: With supplies that say how much is on hand; what steps have left by now is in it.
        batches: Whose steps take the ingredients, or leave them.
        known: What began before an amount was counted took from what was there before.

    Returns:
        Nothing where no supply is short and none is left over: then all work waits for it.
    """
    batches = tuple(batches)
    supplies = {s.ingredient: s for s in kitchen.supplies}
    sources = _sources(kitchen, batches, known, supplies)
    short = {name: s for name, s in supplies.items() if s.on_hand is not None or sources.get(name)}
    if not short:
        return Cover()
    wanted: list[tuple[bool, datetime, TaskId, str, float]] = []
    for batch in batches:
        for task, ingredient, amount in _takes(kitchen.made_by(batch.recipe, batch.revision), batch):
            if ingredient in short:
                wanted.append((task not in known.begun, known.starts.get(task, _LAST), task, ingredient, amount))
    left = {name: s.on_hand.value if s.on_hand is not None else 0.0 for name, s in short.items()}
    found: set[tuple[TaskId, str]] = set()
    after: dict[tuple[TaskId, str], tuple[tuple[TaskId, int | None], ...]] = {}
    for waits, start, task, ingredient, amount in sorted(wanted):
        if not waits and start < _since(short[ingredient]):
            continue
        if amount <= left[ingredient] + _EPS:
            left[ingredient] -= amount
            found.add((task, ingredient))
        elif waits:
            when = None if start == _LAST else start
            chosen = _from_steps(sources.get(ingredient, []), amount - max(0.0, left[ingredient]), when)
            if chosen:
                left[ingredient] = 0.0
                found.add((task, ingredient))
                after[task, ingredient] = chosen
    return Cover(frozenset(found), after)


def _from_steps(sources: list[_Source], amount: float, start: datetime | None) -> tuple[tuple[TaskId, int | None], ...]:
    """The steps that leave what is lacking, those that end first; none if together they do not leave enough."""
    usable = [source for source in sources if source.left > _EPS and source.fits(start)]
    if sum(source.left for source in usable) < amount - _EPS:
        return ()
    chosen = []
    for source in usable:
        if amount <= _EPS:
            break
        part = min(amount, source.left)
        source.left -= part
        amount -= part
        chosen.append((source.task, source.keeps))
    return tuple(chosen)


def _sources(
    kitchen: Kitchen, batches: tuple[Batch, ...], known: Known, supplies: Mapping[str, Supply]
) -> dict[str, list[_Source]]:
    """What is still to be left of awaited ingredients, by the end of the step; of one that is delivered, only what is
    known to be left before it comes."""
    found: dict[str, list[_Source]] = {}
    for batch in batches:
        recipe = kitchen.made_by(batch.recipe, batch.revision)
        for step in recipe.steps if recipe is not None else ():
            task = TaskId(f"{batch.lot}.{step.id}")
            for leave in step.leaves if task not in known.over else ():
                supply, ends = supplies.get(leave.ingredient), known.ends.get(task)
                sure = supply is not None and (supply.why == "left" or (ends is not None and ends < supply.ready))
                if sure:
                    amount = amount_left(leave, batch).value
                    found.setdefault(leave.ingredient, []).append(_Source(task, ends, leave.keeps, amount))
    for sources in found.values():
        sources.sort(key=lambda source: (source.ends or _LAST, source.task))
    return found


def covered_now(state: State, now: datetime) -> Covered:
    """Which tasks there is enough for, by what has happened and the adopted plan."""
    return cover_now(state, now).enough


def cover_now(state: State, now: datetime) -> Cover:
    """The same, with what some wait for instead."""
    kitchen, plan = state.kitchen, state.plan
    if kitchen is None or plan is None:
        return Cover()
    supplies = supplies_now(state, now)
    leaves = any(step.leaves for recipe in kitchen.recipes for step in recipe.steps)
    if not supplies or (not leaves and all(s.on_hand is None for s in supplies)):
        return Cover()
    if supplies is not kitchen.supplies:
        return _covered(state, kitchen.model_copy(update={"supplies": supplies}), plan)
    return _by_state(Same(state))  # nothing of it hangs on the time


@lru_cache(maxsize=8)
def _by_state(same: Same[State]) -> Cover:
    kitchen, plan = same.thing.kitchen, same.thing.plan
    assert kitchen is not None
    assert plan is not None
    return _covered(same.thing, kitchen, plan)


def _covered(state: State, kitchen: Kitchen, plan: Plan) -> Cover:
    records = state.tasks
    known = Known(
        starts={task.id: state.record(task.id).started_at or task.start for task in plan.tasks},
        ends={task.id: state.record(task.id).finished_at or task.end for task in plan.tasks},
        begun={task for task, record in records.items() if record.status is not TaskStatus.WAITING},
        over={t for t, record in records.items() if record.status in (TaskStatus.DONE, TaskStatus.SKIPPED)},
    )
    return cover(kitchen, plan.batches, known)


def _since(supply: Supply) -> datetime:
    return supply.counted_at if supply.counted_at is not None else _FIRST


def _takes(recipe: Recipe | None, batch: Batch) -> Iterator[tuple[TaskId, str, float]]:
    for step in recipe.steps if recipe is not None else ():
        amounts: dict[str, float] = {}
        for take in step.takes if step.per == "batch" else ():
            if take.ingredient is not None:
                amounts[take.ingredient] = amounts.get(take.ingredient, 0.0) + take.amount.value * batch.scale
        for ingredient, amount in amounts.items():
            yield TaskId(f"{batch.lot}.{step.id}"), ingredient, amount
