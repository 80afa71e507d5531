"""Probes and what they last said."""

from datetime import datetime

from orchestrator.core.alarms import Look, look
from orchestrator.core.models import Probe, ProbeFact, TaskKind
from orchestrator.core.state import Facts, State
from orchestrator.core.views.models import ProbeView


def probe_views(state: State, facts: Facts, now: datetime) -> tuple[ProbeView, ...]:
    """All probes in the kitchen's order; none before there is a kitchen."""
    seen = look(state, facts, now)
    return () if seen is None else tuple(_probe(seen, p) for p in seen.kitchen.probes.values())


def _probe(seen: Look, probe: Probe) -> ProbeView:
    place = seen.kitchen.equipment.get(probe.equipment)
    fact = seen.facts.get(probe.id) or ProbeFact(probe=probe.id, equipment=probe.equipment)
    inside = seen.lots_in(probe.equipment)
    task = next((t for t in inside if t.kind is not TaskKind.STAY), None)
    band = place.holds if place is not None and probe.reads == "air" else None
    return ProbeView(
        probe=probe,
        equipment_name=place.name if place else "",
        celsius=fact.celsius,
        measured_at=fact.measured_at,
        slope_c_per_min=fact.slope_c_per_min,
        silent_since=fact.silent_since,
        task_title=task.title if task else "",
        task=task.id if task else None,
        low_c=band.low if band else None,
        high_c=band.high if band else None,
        outside_since=fact.outside_since,
    )
