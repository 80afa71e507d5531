"""What the probe on a task says, or a fresher reading by hand."""

from datetime import datetime
from typing import Literal

from orchestrator.core.alarms import Look
from orchestrator.core.models import PlannedTask, Probe, ProbeFact, Target, TaskKind
from orchestrator.core.state import TaskStatus
from orchestrator.core.views.models import TemperatureView


def temperature_view(look: Look, task: PlannedTask) -> TemperatureView | None:
    """Of a task in hand on a machine with a probe; none for others."""
    if look.status(task) is not TaskStatus.IN_HAND:
        return None
    probe = _probe(look, task)
    if probe is None:
        return None
    step = look.kitchen.step(task)
    target = step.target if step is not None else None
    fact = look.facts.get(probe.id) or ProbeFact(probe=probe.id, equipment=probe.equipment)
    hand = _fresher_hand(look, task, fact)
    judged = fact if fact.task == task.id else ProbeFact(probe=probe.id, equipment=probe.equipment)
    return TemperatureView(
        probe=probe.id,
        probe_name=probe.name,
        celsius=hand[1] if hand else fact.celsius,
        measured_at=hand[0] if hand else fact.measured_at,
        by_hand=hand is not None,
        slope_c_per_min=None if hand or fact.silent_since else fact.slope_c_per_min,
        silent_since=fact.silent_since,
        target_c=target.celsius if target else None,
        direction=_direction(target),
        ceiling_c=target.ceiling if target else None,
        hold_min=target.hold if target else 0,
        held_min=judged.held_min,
        reached_at=judged.reached_at,
        met_at=judged.met_at,
        arrival_from=None if hand or fact.silent_since else judged.arrival_from,
        arrival_to=None if hand or fact.silent_since else judged.arrival_to,
        earlier_runs=judged.earlier_runs,
        counts_from=fact.counts_from if fact.counts_from is not None and look.now < fact.counts_from else None,
        cooling=judged.cooling,
        verdict=judged.verdict,
    )


def _probe(look: Look, task: PlannedTask) -> Probe | None:
    """In the food where there is one; for what stays in a store, in its air.

    A machine's air says nothing of whether work on the food has reached its target: a blast freezer at −35 °C
    holds tubs that are still soft.
    """
    machine = look.machine(task)
    if machine is None or task.kind is TaskKind.CLEAN:
        return None
    wanted = ("core", "air") if task.kind is TaskKind.STAY else ("core",)
    probes = sorted(look.kitchen.probes_at.get(machine.id, ()), key=lambda p: p.reads != "core")
    return next((p for p in probes if p.reads in wanted), None)


def _fresher_hand(look: Look, task: PlannedTask, fact: ProbeFact) -> tuple[datetime, float] | None:
    readings = look.state.record(task.id).hand_readings
    if not readings:
        return None
    last = readings[-1]
    return last if fact.measured_at is None or fact.silent_since or last[0] > fact.measured_at else None


def _direction(target: Target | None) -> Literal["at least", "at most", ""]:
    if target is None:
        return ""
    return "at least" if target.at_least is not None else "at most"
