"""Probes that may not be believed, or will soon fall silent."""

from collections.abc import Iterator
from typing import Final

from orchestrator.core.alarms.look import Look, alarm_id
from orchestrator.core.alarms.task_facts import lots_of
from orchestrator.core.ids import AlarmId, StationId
from orchestrator.core.models import PlannedTask, Probe, TaskKind
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority
from orchestrator.core.models.health import HealthFinding, doubts
from orchestrator.core.probe_traces import check_due, health_of
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
    for probe in look.kitchen.probes.values():
        if probe.equipment in look.kitchen.equipment:
            found.update(_health(look, probe))
            found.update(_check_due(look, probe))
            found.update(_unwashed(look, probe))
    return found


def _check_due(look: Look, probe: Probe) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    due = check_due(look.state, probe.id)
    if due is not None and look.now >= due:
        inside, kind = look.lots_in(probe.equipment), AlarmKind.PROBE_CHECK_DUE
        alarm, facts = about(look, kind, probe, inside=inside, priority=Priority.NOTICE, helps=(Help.CHECK_PROBE,))
        yield alarm, facts.model_copy(update={"since": due, "celsius": None})


def _unwashed(look: Look, probe: Probe) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    asked = look.state.probes.asked.get(probe.id)
    if asked is None:
        return
    kind, helps = AlarmKind.PROBE_UNWASHED, (Help.SAY_WASHED, Help.LOOK_AT_LOTS)
    alarm, facts = about(look, kind, probe, inside=[], priority=Priority.WARNING, helps=helps)
    task = look.plan.tasks.get(asked.task)
    said = f"it was in {', '.join(asked.after)} ({', '.join(asked.allergens)}) and is now in {asked.lot}"
    told = {
        "since": asked.at,
        "lot": asked.lot,
        "lots": (asked.lot,),
        "task": asked.task,
        "reason": said,
        "celsius": None,
        "orders": look.orders([task]) if task is not None else (),
        "stations": tuple(dict.fromkeys((*(look.stations([task]) if task is not None else ()), *facts.stations))),
    }
    yield alarm, facts.model_copy(update=told)


def _health(look: Look, probe: Probe) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    health = health_of(look.state, probe.id, look.facts.get(probe.id))
    if not health:
        return
    wrong = doubts(health)
    inside = look.lots_in(probe.equipment)
    if wrong:
        helps = dict.fromkeys(help_ for finding in wrong for help_ in _helps(finding))
        failed = look.state.probes.failed(probe.id)
        by_hand: tuple[Help, ...] = (Help.MEASURE_BY_HAND,) if inside else ()
        by_hand += (Help.LOOK_AT_LOTS,) if failed is not None and failed.in_doubt else ()
        # It watches food: what it says of it counts for nothing until somebody measures by hand.
        priority = Priority.WARNING if inside else Priority.NOTICE
        help_ = (*by_hand, *helps)
        kind = AlarmKind.PROBE_DOUBTED
        alarm, facts = about(look, kind, probe, inside=inside, priority=priority, helps=help_, health=wrong)
        in_doubt = failed.in_doubt if failed is not None else ()
        yield alarm, facts.model_copy(update={"lots": tuple(dict.fromkeys((*facts.lots, *in_doubt)))})
        return
    battery = tuple(f for f in health if f.sign is Sign.BATTERY_LOW)
    if battery:
        kind, change = AlarmKind.PROBE_BATTERY, (Help.CHANGE_BATTERY,)
        yield about(look, kind, probe, inside=inside, priority=Priority.NOTICE, helps=change, health=battery)


def _helps(finding: HealthFinding) -> tuple[Help, ...]:
    """What mends it; where a probe may be swapped or in the wrong unit, to look where it hangs comes first."""
    first = _HELPS.get(finding.sign, Help.CHECK_PROBE)
    return (first, Help.SET_PROBE) if finding.sign is Sign.SWAPPED and finding.hint else (first,)


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
