"""Places that fail with food in them: too warm past their limit, stopped, or with no reading for too long."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.deviations.standing import gone
from orchestrator.core.ids import EquipmentId, LotCode, SupplyLotId
from orchestrator.core.models import Equipment, Kitchen, PlannedTask, ProbeFact, TaskKind
from orchestrator.core.models.deviation import Cause, Deviation
from orchestrator.core.models.limit import Limit, LimitId
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.pantry import LEAST
from orchestrator.core.plan_index import KitchenIndex, kitchen_index, plan_index
from orchestrator.core.state import Facts, State, TaskStatus
from orchestrator.thermal.softening import core_at_most

HARDENED: Final = LimitId("hardening-core")
FROZEN_C: Final = -5.0
"""A store whose upper end is colder than this is a freezer; a figure of ours, between fridges and freezers."""
_NO_LIMIT_GAP: Final = timedelta(minutes=30)
"""Without a reading for longer than this nothing is known of a store whose food has no limit; a figure of ours."""


@dataclass(frozen=True, slots=True)
class Failure:
    """What is wrong with a place now."""

    cause: Cause
    since: datetime
    reason: str
    fact: ProbeFact | None = None


def inside(state: State) -> dict[EquipmentId, list[PlannedTask]]:
    """Tasks in hand with food in them, by where they are in fact."""
    found: dict[EquipmentId, list[PlannedTask]] = {}
    if state.plan is None:
        return found
    tasks = plan_index(state.plan).tasks
    for task_id, record in state.tasks.items():
        task = tasks.get(task_id)
        if record.status is not TaskStatus.IN_HAND or task is None or task.lot is None or task.kind is TaskKind.CLEAN:
            continue
        place = record.equipment or task.equipment
        if place is not None:
            found.setdefault(place, []).append(task)
    return found


def on_hand(state: State, place: EquipmentId) -> tuple[IngredientLot, ...]:
    """Ingredients and left-overs that stand in a place by the books, oldest first; not what was thrown away."""
    here = (lot for lot in state.pantry.lots.values() if lot.place == place)
    return tuple(lot for lot in here if state.pantry.left(lot.id) > LEAST and not gone(state, LotCode(lot.id)))


def air_fact(known: KitchenIndex, place: Equipment, facts: Facts) -> ProbeFact | None:
    """The latest fact of a probe in the air of a place."""
    airs = (probe for probe in known.probes_at.get(place.id, ()) if probe.reads == "air")
    return next((facts[p.id] for p in airs if p.id in facts), None)


def failures(
    state: State, place: Equipment, facts: Facts, now: datetime, tasks: list[PlannedTask]
) -> Iterator[Failure]:
    """Everything that is wrong with a place that holds food."""
    assert state.kitchen is not None
    known = kitchen_index(state.kitchen)
    stop = state.machines.get(place.id)
    if stop is not None and (stop.until is None or now < stop.until):
        yield Failure("machine stopped", stop.since, f"{place.name} stopped" + (f": {stop.reason}" * bool(stop.reason)))
    fact = air_fact(known, place, facts)
    if fact is None or place.holds is None or not place.store:
        return
    clock = state.kitchen.local
    high = place.holds.high
    since = fact.unsettled_since or fact.outside_since
    worst = None if since is None else warmest_since(fact, since)
    warm = worst is not None and worst > high
    if warm and since is not None and now >= since + timedelta(minutes=place.holds.grace):
        says = f"{place.name} warmer than {high:g} °C since {clock(since):%a %H:%M}"
        yield Failure("store warm", since, says, fact)
    gap = longest_gap(state.kitchen, known, tasks)
    if fact.silent_since is not None and now >= fact.silent_since + gap:
        says = f"{place.name}: no reading since {clock(fact.silent_since):%a %H:%M}, too long to judge"
        yield Failure("record gap", fact.silent_since, says, fact)


def warmest_since(fact: ProbeFact, since: datetime) -> float | None:
    """Furthest that the air of a store was outside its band since an instant, °C; none while it never was."""
    before = fact.spell.worst_c if fact.spell is not None and fact.spell.until >= since else None
    return max((c for c in (fact.worst_c, before) if c is not None), default=None)


def longest_gap(kitchen: Kitchen, known: KitchenIndex, tasks: list[PlannedTask]) -> timedelta:
    """Between readings further apart than this nothing is known of the food: the shortest that its limits name."""
    limits = [limit for task in tasks if (limit := limit_of(kitchen, known, task)) is not None]
    return min((timedelta(minutes=limit.gap) for limit in limits), default=_NO_LIMIT_GAP)


def unseen_from(state: State, task: PlannedTask, since: datetime, gap: timedelta) -> datetime:
    """From when on food has been for too long in a place of which nothing is heard."""
    return max(since, state.record(task.id).started_at or since) + gap


def unseen(state: State, tasks: list[PlannedTask], since: datetime, now: datetime) -> list[PlannedTask]:
    """Those of the tasks in a silent place whose food has been there for too long without a reading."""
    assert state.kitchen is not None
    gap = longest_gap(state.kitchen, kitchen_index(state.kitchen), tasks)
    return [task for task in tasks if unseen_from(state, task, since, gap) <= now]


def unseen_on_hand(
    state: State, place: Equipment, tasks: list[PlannedTask], since: datetime, now: datetime
) -> tuple[IngredientLot, ...]:
    """Ingredients on hand in a silent place that have stood there for too long without a reading."""
    assert state.kitchen is not None
    gap = longest_gap(state.kitchen, kitchen_index(state.kitchen), tasks)
    return tuple(lot for lot in on_hand(state, place.id) if max(since, lot.received_at) + gap <= now)


def limit_of(kitchen: Kitchen, known: KitchenIndex, task: PlannedTask) -> Limit | None:
    """The limit of the step that a task carries out."""
    step = known.step(task)
    return kitchen.limit(step.limit.id) if step is not None and step.limit is not None else None


def still_good_c(kitchen: Kitchen, place: Equipment) -> float | None:
    """How warm food in a store may be in its middle and still count as kept, °C; none for places without a band.

    In a freezer that is the core to which tubs are hardened (the kitchen's limit), for what has softened further is
    not what was hardened; in a fridge, the store's own upper end.
    """
    if place.holds is None:
        return None
    hardened = kitchen.limit(HARDENED)
    if place.holds.high > FROZEN_C or hardened is None:
        return place.holds.high
    return max(place.holds.high, hardened.rows[0].asked.as_celsius(kitchen.temperature_unit))


def core_now(
    state: State, deviation: Deviation, lot: LotCode, facts: Facts, now: datetime, *, in_work: bool
) -> float | None:
    """How warm a lot's core can be at most, °C: by its last reading by hand, and the air since.

    Args:
        state: With the place.
        deviation: Of the place.
        lot: A batch or a lot on hand.
        facts: What the probes say.
        now: When it is asked.
        in_work: Whether it is still being made cold there, and does not merely stand.

    Returns:
        None where it cannot be known: no band, no probe in the air, a gap in its record, or food still being made cold.
    """
    assert state.kitchen is not None
    place = kitchen_index(state.kitchen).equipment[deviation.facts.equipment or EquipmentId("")]
    by_hand = measured(state, deviation, lot)
    if by_hand is None and (place.holds is None or in_work or deviation.facts.cause == "record gap"):
        return None
    high = place.holds.high if place.holds is not None else 0.0
    start_at, start_c = by_hand or (deviation.asked_since, max(high, deviation.core_at_most_c or high))
    if deviation.until is not None:
        return _core_after(deviation, by_hand is not None, start_at, start_c)
    fact = air_fact(kitchen_index(state.kitchen), place, facts)
    if fact is None or fact.silent_since is not None:
        return start_c if by_hand is not None and now - start_at <= _NO_LIMIT_GAP else None
    warmest = warmest_since(fact, deviation.asked_since)
    if warmest is None:
        return start_c
    return core_at_most(start_c, warmest, (now - start_at).total_seconds() / 60)


def _core_after(deviation: Deviation, by_hand: bool, start_at: datetime, start_c: float) -> float | None:
    """When the place is as it should be again."""
    assert deviation.until is not None
    if not by_hand or start_at >= deviation.until:
        return start_c  # without a reading it is the most that was reckoned when the air came back
    if deviation.warmest_c is None:
        return start_c if deviation.facts.cause == "machine stopped" else None
    return core_at_most(start_c, deviation.warmest_c, (deviation.until - start_at).total_seconds() / 60)


def measured(state: State, deviation: Deviation, lot: LotCode) -> tuple[datetime, float] | None:
    """The last reading by hand in a lot since the place failed: when and °C."""
    in_steps = (r for t, record in state.tasks.items() if t.split(".")[0] == lot for r in record.hand_readings)
    readings = (*in_steps, *state.pantry.readings.get(SupplyLotId(lot), ()))
    return max((r for r in readings if r[0] >= deviation.asked_since), default=None)


def lots_of(tasks: list[PlannedTask]) -> tuple[LotCode, ...]:
    """The lots of tasks, each once."""
    return tuple(dict.fromkeys(task.lot for task in tasks if task.lot is not None))
