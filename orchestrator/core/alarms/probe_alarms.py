"""Probes that may not be believed, or will soon fall silent."""

from collections.abc import Iterator
from typing import Final

from orchestrator.core.alarms.look import Look, alarm_id
from orchestrator.core.alarms.task_facts import lots_of
from orchestrator.core.ids import AlarmId, StationId
from orchestrator.core.models import PlannedTask, Probe, ProbeFact, TaskKind
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority
from orchestrator.core.models.health import HealthFinding, doubts
from orchestrator.thermal.health.signs import Sign

_HELPS: Final = {
    Sign.UNIT_MISTAKEN: Help.SET_PROBE,
    Sign.CLOCK_WRONG: Help.SET_PROBE,
    Sign.SWAPPED: Help.SWAP_BACK,
}
"""What mends it; a check in ice water where nothing else is known to."""


def probe_conditions(look: Look) -> dict[AlarmId, AlarmFacts]:
    """Everything about the health of probes."""
    found: dict[AlarmId, AlarmFacts] = {}
    for fact in look.facts.values():
        probe = look.kitchen.probes.get(fact.probe)
        if probe is not None and fact.health and probe.equipment in look.kitchen.equipment:
            found.update(_health(look, probe, fact))
    return found


def _health(look: Look, probe: Probe, fact: ProbeFact) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    wrong = doubts(fact.health)
    inside = look.lots_in(probe.equipment)
    if wrong:
        helps = dict.fromkeys(_HELPS.get(finding.sign, Help.CHECK_PROBE) for finding in wrong)
        by_hand = (Help.MEASURE_BY_HAND,) if inside else ()
        # It watches food: what it says of it counts for nothing until somebody measures by hand.
        priority = Priority.WARNING if inside else Priority.NOTICE
        help_ = (*by_hand, *helps)
        yield about(look, AlarmKind.PROBE_DOUBTED, probe, inside=inside, priority=priority, helps=help_, health=wrong)
        return
    battery = tuple(f for f in fact.health if f.sign is Sign.BATTERY_LOW)
    if battery:
        kind, change = AlarmKind.PROBE_BATTERY, (Help.CHANGE_BATTERY,)
        yield about(look, kind, probe, inside=inside, priority=Priority.NOTICE, helps=change, health=battery)


def about(
    look: Look,
    kind: AlarmKind,
    probe: Probe,
    *,
    inside: list[PlannedTask],
    priority: Priority,
    helps: tuple[Help, ...],
    health: tuple[HealthFinding, ...] = (),
) -> tuple[AlarmId, AlarmFacts]:
    """An alarm about a probe; ``inside`` is what it watches."""
    place = look.kitchen.equipment[probe.equipment]
    task = next((t for t in inside if t.kind is not TaskKind.STAY), None)
    stations: dict[StationId, None] = {task.station: None} if task is not None else {}
    stations[place.station] = None
    return alarm_id(kind, probe.id), AlarmFacts(
        kind=kind,
        priority=priority,
        task=task.id if task else None,
        title=probe.name,
        lot=task.lot if task else None,
        lots=lots_of(*inside),
        equipment=place.id,
        probe=probe.id,
        stations=tuple(stations),
        orders=look.orders(inside),
        since=min((finding.since for finding in health), default=None),
        celsius=fact.celsius if (fact := look.facts.get(probe.id)) is not None else None,
        helps=helps,
        health=health,
    )
