"""Where every ingredient that the plan still takes comes from: what is here, comes or is left by steps; and the rest.

Used by all that asks what is missing: the sheet of what to order, the pull list, what to make next.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal

from orchestrator.core.alarms import Look
from orchestrator.core.by_products import amount_left, is_over, open_lots, place_for
from orchestrator.core.ids import EquipmentId, LotCode, TaskId
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.quantities import Unit
from orchestrator.core.state import TaskStatus
from orchestrator.core.supplies_now import expected_at
from orchestrator.core.wanted import taken_without_lot, wanted

_DUST = 1e-6
_FIRST = datetime.min.replace(tzinfo=UTC)
_LAST = datetime.max.replace(tzinfo=UTC)
Key = tuple[str, Unit]


@dataclass(slots=True)
class Source:
    """So much of an ingredient, from when until when."""

    kind: Literal["on hand", "received", "left over", "to be left", "ordered"]
    lot: str
    """Code of a delivery or by-product; of one to come, the batch that leaves it; else empty."""
    since: datetime
    until: datetime
    value: float
    """At first; what nobody takes of it is `spare`."""
    place: EquipmentId | None = None
    task: TaskId | None = None
    """The step that leaves it, or has left it."""
    spare: float = 0.0

    @property
    def by_product(self) -> bool:
        """Whether it is one, here or to come."""
        return self.kind in ("left over", "to be left")

    @property
    def use_by(self) -> datetime | None:
        """By when it must be used; none if nothing limits it."""
        return None if self.until == _LAST else self.until


@dataclass(frozen=True, slots=True)
class Draw:
    """What one task takes of an ingredient."""

    task: PlannedTask
    at: datetime
    value: float
    parts: tuple[tuple[Source, float], ...]
    """From where, what spoils first at the head."""

    @property
    def short(self) -> float:
        """What nothing covers."""
        return max(0.0, self.value - sum(part for _, part in self.parts))


@dataclass(frozen=True, slots=True)
class Flow:
    """One ingredient in one unit."""

    sources: tuple[Source, ...]
    draws: tuple[Draw, ...]
    """Of work that has not begun, in the order of time."""


def flows(seen: Look) -> dict[Key, Flow]:
    """Every ingredient that waiting work takes, or that is here or to come."""
    needs, sources = _needs(seen), _sources(seen)
    found = {}
    for key in sorted({*needs, *sources}):
        mine = sorted(sources.get(key, []), key=lambda s: (s.until, s.since, s.lot))
        draws = tuple(_draw(mine, task, at, value) for at, task, value in needs.get(key, []))
        found[key] = Flow(tuple(mine), draws)
    return found


def _draw(sources: list[Source], task: PlannedTask, at: datetime, value: float) -> Draw:
    left, parts = value, []
    for source in sources:
        part = min(left, source.spare) if source.since <= at <= source.until else 0.0
        if part > _DUST:
            source.spare -= part
            left -= part
            parts.append((source, part))
    return Draw(task, at, value, tuple(parts))


def _needs(seen: Look) -> dict[Key, list[tuple[datetime, PlannedTask, float]]]:
    found: dict[Key, list[tuple[datetime, PlannedTask, float]]] = defaultdict(list)
    for task in seen.plan.tasks.values():
        if task.kind is not TaskKind.WORK or seen.status(task) is not TaskStatus.WAITING or seen.gone(task.lot):
            continue
        for key, amount in wanted(seen.kitchen.kitchen, seen.plan, task).items():
            if amount > 0:
                found[key].append((seen.live[task.id].start, task, amount))
    return {key: sorted(needs, key=lambda need: (need[0], need[1].id)) for key, needs in found.items()}


def _sources(seen: Look) -> dict[Key, list[Source]]:
    kitchen, state = seen.kitchen.kitchen, seen.state
    found: dict[Key, list[Source]] = defaultdict(list)
    for bought in kitchen.buying.ingredients:
        if bought.on_hand is not None:
            unit = bought.on_hand.unit
            left = bought.on_hand.value - taken_without_lot(state, bought.ingredient, unit)
            if left > _DUST:
                found[bought.ingredient, unit].append(Source("on hand", "", _FIRST, _LAST, left, spare=left))
    for name in {lot.ingredient for lot in state.pantry.lots.values()}:
        for lot in open_lots(state, name, seen.now):
            left = state.pantry.left(lot.id)
            kind: Literal["received", "left over"] = "received" if lot.made_from is None else "left over"
            source = Source(kind, lot.id, lot.received_at, lot.use_by or _LAST, left, lot.place, lot.task, left)
            found[name, lot.quantity.unit].append(source)
    for supply in kitchen.supplies:
        if supply.why == "delivery" and supply.amount is not None:
            at, value = expected_at(supply, kitchen, seen.now), supply.amount.value
            source = Source("ordered", "", at, _LAST, value, spare=value)
            found[supply.ingredient, supply.amount.unit].append(source)
    for key, source in _to_be_left(seen):
        found[key].append(source)
    return found


def _to_be_left(seen: Look) -> Iterator[tuple[Key, Source]]:
    """What steps that are not over let expect."""
    for batch in seen.plan.batches.values():
        recipe = seen.kitchen.kitchen.made_by(batch.recipe, batch.revision)
        for step in recipe.steps if recipe is not None and not seen.gone(batch.lot) else ():
            task = TaskId(f"{batch.lot}.{step.id}")
            if not step.leaves or task not in seen.live or is_over(seen.state, task):
                continue
            for leave in step.leaves:
                amount, ends = amount_left(leave, batch), seen.live[task].end
                until = _LAST if leave.keeps is None else ends + timedelta(minutes=leave.keeps)
                place = place_for(seen.kitchen.kitchen, leave)
                source = Source("to be left", batch.lot, ends, until, amount.value, place, task, amount.value)
                yield (leave.ingredient, amount.unit), source


def lots_of(draw: Draw) -> tuple[LotCode, ...]:
    """Codes of the lots that a task will take from, as far as they are here."""
    return tuple(LotCode(source.lot) for source, _ in draw.parts if source.kind in ("received", "left over"))
