"""Start gates: judged on the latest probe facts and on what was measured by hand just before."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.cleaned import cleaning_gate
from orchestrator.core.deviations.standing import usable_lots
from orchestrator.core.events import GateEvidence
from orchestrator.core.ids import EquipmentId
from orchestrator.core.models import Gate, PlannedTask, TaskKind, WindowClass
from orchestrator.core.models.health import doubt_in_words
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.state import Facts, State
from orchestrator.core.supplies_now import supplies_now
from orchestrator.core.supply_cover import cover_now
from orchestrator.core.wanted import wanted as wanted_of

HAND_READING_COUNTS: Final = timedelta(minutes=15)
"""How long a reading by hand says what the food is now; a figure of ours."""


@dataclass(frozen=True, slots=True)
class _Reading:
    celsius: float
    measured_at: datetime | None


def judge(
    state: State, facts: Facts, task: PlannedTask, now: datetime, equipment: EquipmentId | None = None
) -> tuple[GateEvidence, ...]:
    """Judge every start gate of a task.

    Args:
        state: What has happened.
        facts: The latest fact of every probe.
        task: A task of the adopted plan.
        now: The present instant.
        equipment: The machine it is to be started on; left out, the planned one.

    Returns:
        One piece of evidence a gate; ``met`` is None where there is no fresh reading to judge by.
    """
    if state.kitchen is None:
        return ()
    step = kitchen_index(state.kitchen).step(task)
    found = []
    for gate in step.gates if step is not None else ():
        machines = [equipment or task.equipment] if gate.of == "equipment" else _kept_before(state, task)
        by_hand = _by_hand(state, task, now) if gate.of == "before" else None
        evidence = _judged(gate, _worst(gate, _probes(facts, machines)), by_hand)
        doubt = _doubt(facts, machines) if evidence.met is None else ""
        found.append(evidence.model_copy(update={"doubt": doubt}) if doubt else evidence)
    return (*found, *cleaning_gate(state, task, equipment or task.equipment, now), *_here(state, task, now))


def _here(state: State, task: PlannedTask, now: datetime) -> Iterator[GateEvidence]:
    """What it takes is here: received, or left by a step. What ripens is not asked about: its time is a guess."""
    supplies = supplies_now(state, now)
    names = {supply.ingredient for supply in supplies if supply.why != "ripe" and supply.ready > now}
    step = kitchen_index(state.kitchen).step(task) if state.kitchen is not None and names else None
    wanted = dict.fromkeys(take.ingredient for take in (step.takes if step is not None else ()) if take.ingredient)
    for ingredient in (name for name in wanted if name in names):
        if not _on_the_books(state, task, ingredient, now):
            yield GateEvidence(says=f"{ingredient} is here", met=None, awaits=ingredient)


def _on_the_books(state: State, task: PlannedTask, ingredient: str, now: datetime) -> bool:
    """Whether there is enough of it: by what was counted of a short supply, or in lots that may be used."""
    found = cover_now(state, now)
    if (task.id, ingredient) in found.enough and (task.id, ingredient) not in found.after:
        return True
    plan = state.plan
    assert plan is not None
    assert state.kitchen is not None
    amounts = {name: (unit, value) for (name, unit), value in wanted_of(state.kitchen, plan_index(plan), task).items()}
    unit, value = amounts.get(ingredient, (None, 0.0))
    lots = usable_lots(state, ingredient, now, unit)
    return bool(lots) and sum(state.pantry.left(lot.id) for lot in lots) >= value - 1e-6


def of_food(state: State, task: PlannedTask) -> frozenset[str]:
    """Gates about the food itself, by their words: whoever measures it by hand knows it better than the air does."""
    step = kitchen_index(state.kitchen).step(task) if state.kitchen is not None else None
    return frozenset(gate.says for gate in (step.gates if step is not None else ()) if gate.of == "before")


def is_safety(state: State, task: PlannedTask) -> bool:
    """Whether a task may not be started past a gate: a critical step, or one within a safety window."""
    step = kitchen_index(state.kitchen).step(task) if state.kitchen is not None else None
    if step is not None and step.critical:
        return True
    tasks = plan_index(state.plan).tasks if state.plan is not None else {}
    for link in task.links:
        before = tasks.get(link.after)
        if before is not None and before.kind is TaskKind.STAY and before.stay is not None:
            bounded, window = before.stay.most is not None or before.stay.least > 0, before.stay.window
        else:
            bounded, window = link.most is not None or link.least > 0, link.window
        if bounded and window is WindowClass.SAFETY:
            return True
    return False


def _kept_before(state: State, task: PlannedTask) -> list[EquipmentId | None]:
    """Where the steps before kept the food."""
    tasks = plan_index(state.plan).tasks if state.plan is not None else {}
    before = [tasks[link.after] for link in task.links if link.after in tasks]
    return [state.record(b.id).equipment or b.equipment for b in before if b.kind is not TaskKind.CLEAN]


def _probes(facts: Facts, machines: Iterable[EquipmentId | None]) -> list[_Reading]:
    wanted = {machine for machine in machines if machine is not None}
    return [
        _Reading(fact.celsius, fact.measured_at)
        for fact in facts.values()
        if fact.equipment in wanted and fact.celsius is not None and fact.silent_since is None and fact.believable
    ]


def _doubt(facts: Facts, machines: Iterable[EquipmentId | None]) -> str:
    wanted = set(machines)
    said = (doubt_in_words(fact.health) for fact in facts.values() if fact.equipment in wanted)
    return next((words for words in said if words), "")


def _by_hand(state: State, task: PlannedTask, now: datetime) -> _Reading | None:
    readings = state.record(task.id).hand_readings
    fresh = [_Reading(celsius, at) for at, celsius in readings if timedelta(0) <= now - at <= HAND_READING_COUNTS]
    return fresh[-1] if fresh else None


def _worst(gate: Gate, readings: list[_Reading]) -> _Reading | None:
    """Several probes in one place: the one furthest on the wrong side counts."""
    pick = max if gate.at_most is not None else min
    return pick(readings, key=lambda reading: reading.celsius) if readings else None


def _judged(gate: Gate, probe: _Reading | None, by_hand: _Reading | None) -> GateEvidence:
    # Whoever measured the food by hand knows it better than the air of its store.
    reading = by_hand or probe
    if reading is None:
        return GateEvidence(says=gate.says, met=None)
    above = gate.at_most is not None and reading.celsius > gate.at_most
    below = gate.at_least is not None and reading.celsius < gate.at_least
    return GateEvidence(
        says=gate.says,
        met=not (above or below),
        celsius=reading.celsius,
        measured_at=reading.measured_at,
    )
