"""Room in stores that by-products take, for the planner: what stands there, and what the plan so far will leave.

It is given only what the plan so far leaves free: whites never push out food that somebody has ordered, but nothing
new is planned into the room in which they stand.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise

from orchestrator.core.by_products import amount_left, is_over, leavers, place_for, room_of, room_taken, there_of
from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import Batch, KeptRoom, Kitchen, Plan
from orchestrator.core.pantry import LEAST
from orchestrator.core.state import State, TaskStatus


@dataclass(frozen=True, slots=True)
class _Standing:
    """So much of a by-product in a store, from one instant to another."""

    ingredient: str
    store: EquipmentId
    start: datetime
    end: datetime
    amount: float
    room: float
    sure: bool


Span = tuple[EquipmentId | None, datetime, datetime, float]
"""Where a task of the plan so far is, from when to when, and with how much load, in the unit of the place."""


def kept_room(state: State, spans: Mapping[TaskId, Span], now: datetime) -> tuple[KeptRoom, ...]:
    """Room that is not to be planned with, by store and time; nothing where no step leaves anything.

    Args:
        state: With a kitchen and, for anything to be found, a plan.
        spans: Of tasks of the plan that are not over: where they are, and when, as far as is known.
        now: The present instant.
    """
    kitchen, plan = state.kitchen, state.plan
    if kitchen is None or plan is None or not leavers(kitchen):
        return ()
    ends = {task: end for task, (_, _, end, _) in spans.items()}
    standing = [*_there(state, kitchen, now), *_to_come(state, kitchen, plan, ends)]
    by_store: dict[EquipmentId, list[_Standing]] = defaultdict(list)
    for one in _less_what_is_taken(state, kitchen, plan, standing):
        by_store[one.store].append(one)
    there = list(spans.values())
    return tuple(part for store in sorted(by_store) for part in _beside(kitchen, there, store, by_store[store], now))


def _there(state: State, kitchen: Kitchen, now: datetime) -> Iterator[_Standing]:
    for lot in state.pantry.by_products():
        left = there_of(state, lot)
        if lot.place is None or left <= LEAST or lot.quantity.value <= 0:
            continue
        # Past its date it stands there until somebody throws it away: that is asked for, and takes no day.
        end = lot.use_by if lot.use_by is not None else kitchen.planned_until
        yield _Standing(lot.ingredient, lot.place, now, end, left, room_taken(state, lot), sure=True)


def _to_come(state: State, kitchen: Kitchen, plan: Plan, ends: Mapping[TaskId, datetime]) -> Iterator[_Standing]:
    for batch in plan.batches:
        recipe = kitchen.made_by(batch.recipe, batch.revision)
        for step in recipe.steps if recipe is not None else ():
            task = TaskId(f"{batch.lot}.{step.id}")
            if not step.leaves or task not in ends or is_over(state, task):
                continue
            for leave in step.leaves:
                store, amount = place_for(kitchen, leave), amount_left(leave, batch)
                if store is None or amount.value <= LEAST:
                    continue
                end = kitchen.planned_until if leave.keeps is None else ends[task] + timedelta(minutes=leave.keeps)
                room = room_of(kitchen, leave, batch.scale, amount)
                yield _Standing(leave.ingredient, store, ends[task], end, amount.value, room, sure=False)


def _less_what_is_taken(state: State, kitchen: Kitchen, plan: Plan, standing: list[_Standing]) -> list[_Standing]:
    """What work of the plan takes is gone from then on, of what is past its date first."""
    found = [one for one in standing if one.room > LEAST]
    names = {one.ingredient for one in found}
    starts = {task.id: task.start for task in plan.tasks if state.record(task.id).status is TaskStatus.WAITING}
    takers = sorted(_takers(kitchen, plan.batches, starts, names))
    for at, ingredient, wanted in takers:
        amount = wanted
        for index, one in sorted(enumerate(found), key=lambda pair: pair[1].end):
            if amount <= LEAST:
                break
            if one.ingredient != ingredient or not one.start <= at < one.end:
                continue
            part = min(amount, one.amount)
            amount -= part
            rest = one.amount - part
            found[index] = replace(one, end=at)
            if rest > LEAST:
                found.append(replace(one, start=at, amount=rest, room=one.room * rest / one.amount))
    return found


def _takers(
    kitchen: Kitchen, batches: tuple[Batch, ...], starts: Mapping[TaskId, datetime], names: set[str]
) -> Iterator[tuple[datetime, str, float]]:
    for batch in batches:
        recipe = kitchen.made_by(batch.recipe, batch.revision)
        for step in recipe.steps if recipe is not None else ():
            at = starts.get(TaskId(f"{batch.lot}.{step.id}"))
            for take in step.takes if at is not None else ():
                if take.ingredient in names and at is not None:
                    yield at, take.ingredient, take.amount.value * batch.scale


def _beside(
    kitchen: Kitchen, spans: list[Span], store: EquipmentId, standing: list[_Standing], now: datetime
) -> Iterator[KeptRoom]:
    """What of it fits beside what the plan so far has in the store, stretch by stretch; first what stands there."""
    made = next((e for e in kitchen.equipment if e.id == store), None)
    if made is None or made.capacity is None or not made.shared:
        return
    there = [(start, end, load) for where, start, end, load in spans if where == store and end > now]
    cuts = {instant for one in standing for instant in (one.start, one.end)}
    cuts |= {instant for start, end, _ in there for instant in (start, end)}
    instants = sorted({max(now, cut) for cut in cuts})
    stretches: dict[bool, list[KeptRoom]] = {True: [], False: []}
    for start, end in pairwise(instants):
        free = made.capacity.value - sum(load for since, until, load in there if since <= start < until)
        for sure in (True, False):
            wanted = sum(one.room for one in standing if one.sure is sure and one.start <= start < one.end)
            room = round(min(wanted, max(0.0, free)), 6)
            free -= room
            _grow(stretches[sure], KeptRoom(equipment=store, start=start, end=end, room=room, sure=sure))
    yield from (one for sure in (True, False) for one in stretches[sure] if one.room > LEAST)


def _grow(stretches: list[KeptRoom], one: KeptRoom) -> None:
    """Put a stretch at the end; with the one before it where nothing changes between them."""
    if stretches and stretches[-1].room == one.room:
        stretches[-1] = stretches[-1].model_copy(update={"end": one.end})
    else:
        stretches.append(one)
