"""Stores too warm, probes gone silent, machines stopped, and lots on hold."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from orchestrator.core.alarms.look import Look, alarm_id, minutes
from orchestrator.core.alarms.probe_alarms import about
from orchestrator.core.alarms.task_facts import lots_of
from orchestrator.core.alarms.window_alarms import has_other_machine
from orchestrator.core.found import latest_return
from orchestrator.core.ids import AlarmId, LotCode
from orchestrator.core.models import Band, Equipment, PlannedTask, Probe, ProbeFact, Process, TaskKind
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority
from orchestrator.core.state import LotRecord, LotStatus, MachineStop, TaskStatus
from orchestrator.core.windows import start_bounds


def place_conditions(look: Look) -> dict[AlarmId, AlarmFacts]:
    """Everything about places, probes, machines and held lots."""
    found: dict[AlarmId, AlarmFacts] = {}
    for equipment in look.kitchen.equipment.values():
        found.update(_store(look, equipment))
    for fact in look.facts.values():
        found.update(_silent(look, fact))
    for equipment_id, stop in look.state.machines.items():
        if equipment_id in look.kitchen.equipment:
            found.update(_stopped(look, look.kitchen.equipment[equipment_id], stop))
    for lot, record in look.state.lots.items():
        if record.status is LotStatus.ON_HOLD:
            found.update(_held(look, lot, record))
    return found


def half_grace(band: Band) -> timedelta:
    """From when on a store that is outside is worth a warning; a figure of ours."""
    return minutes(band.grace) / 2


def _store(look: Look, place: Equipment) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    """A store outside its temperatures: warned of at half its grace unless it is on its way back by itself,
    missed in fact at the end of its grace."""
    band = place.holds
    if band is None:
        return
    for probe in look.kitchen.probes_at.get(place.id, ()):
        fact = look.facts.get(probe.id)
        since = out_since(fact) if fact is not None else None
        if fact is None or probe.reads != "air" or since is None:
            continue
        known = look.state.alarms.get(alarm_id(AlarmKind.STORE_WARM, place.id))
        standing = known is not None and known.standing
        # Within the deadband nothing new is told; what was told stands, and is not taken back.
        out = fact.outside_since is not None
        was_missed = standing and known is not None and known.facts.missed
        missed = look.now >= since + minutes(band.grace) and (out or was_missed)
        warned = out and look.now >= since + half_grace(band) and not _coming_back(band, fact)
        if missed or warned or standing:
            yield _store_facts(look, place, band, fact, missed)
            return


def out_since(fact: ProbeFact) -> datetime | None:
    """Since when a store has been outside without having been clearly back; none while it is settled inside."""
    return fact.unsettled_since or fact.outside_since


def _too_cold(band: Band, fact: ProbeFact) -> bool:
    return band.low is not None and fact.celsius is not None and fact.celsius < band.low


def _coming_back(band: Band, fact: ProbeFact) -> bool:
    if fact.slope_c_per_min is None:
        return False
    return fact.slope_c_per_min > 0 if _too_cold(band, fact) else fact.slope_c_per_min < 0


def _store_facts(look: Look, place: Equipment, band: Band, fact: ProbeFact, missed: bool) -> tuple[AlarmId, AlarmFacts]:
    inside = look.lots_in(place.id)
    since = out_since(fact) or look.now
    limit_at = since + minutes(band.grace)
    return alarm_id(AlarmKind.STORE_WARM, place.id), AlarmFacts(
        kind=AlarmKind.STORE_WARM,
        priority=Priority.CRITICAL if missed else Priority.WARNING,
        missed=missed,
        title=place.name,
        lots=lots_of(*inside),
        equipment=place.id,
        probe=fact.probe,
        stations=(place.station,),
        orders=look.orders(inside),
        since=since,
        limit_at=limit_at,
        celsius=fact.celsius,
        limit_c=band.low if _too_cold(band, fact) else band.high,
        too_cold=_too_cold(band, fact),
        helps=(Help.CHECK_DOOR, Help.MEASURE_BY_HAND, *((Help.MOVE_LOTS,) if inside else ())),
        save_by=None if missed else limit_at,
    )


def _silent(look: Look, fact: ProbeFact) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    probe = look.kitchen.probes.get(fact.probe)
    if probe is None or probe.equipment not in look.kitchen.equipment:
        return
    if fact.silent_since is None:
        yield from _just_heard(look, probe, fact)
        return
    inside = look.lots_in(probe.equipment)
    priority = Priority.WARNING if inside else Priority.NOTICE
    helps = (Help.MEASURE_BY_HAND,) if inside else ()
    alarm, facts = about(look, AlarmKind.PROBE_SILENT, probe, inside=inside, priority=priority, helps=helps)
    yield alarm, facts.model_copy(update={"since": fact.silent_since})


def heard_for(probe: Probe) -> timedelta:
    """Off-delay of a silent probe: so long it must be heard again, which is what it takes to be called silent."""
    return minutes(probe.silent_after)


def _just_heard(look: Look, probe: Probe, fact: ProbeFact) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    """A probe that was silent is only over when it goes on being heard: one word between two silences is no end."""
    alarm, since = alarm_id(AlarmKind.PROBE_SILENT, probe.id), fact.heard_since
    known = look.state.alarms.get(alarm)
    if known is not None and known.standing and since is not None and look.now < since + heard_for(probe):
        yield alarm, known.facts


def _stopped(look: Look, machine: Equipment, stop: MachineStop) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    """A stopped machine that is wanted: by what is in it, or planned on it before it is back. Once told, it stands
    until the machine is back: a plan that goes round it repairs nothing."""
    if not look.stopped(machine.id):
        return
    wanting = [t for t in look.waiting_work() if t.equipment == machine.id and t.kind is TaskKind.WORK]
    if stop.until is not None:
        wanting = [t for t in wanting if t.start < stop.until]
    inside = look.lots_in(machine.id)
    if not wanting and not inside and not look.standing(alarm_id(AlarmKind.MACHINE_STOPPED, machine.id)):
        return
    windows = [start_bounds(look.state, t, look.live).closes for t in wanting]
    limits = [w for w in windows if w is not None]
    limit = min(limits, default=None)
    other = any(has_other_machine(look, t) for t in wanting)
    yield (
        alarm_id(AlarmKind.MACHINE_STOPPED, machine.id),
        AlarmFacts(
            kind=AlarmKind.MACHINE_STOPPED,
            priority=Priority.WARNING,
            title=machine.name,
            lots=lots_of(*inside, *wanting),
            equipment=machine.id,
            stations=look.stations([*inside, *wanting]) or (machine.station,),
            orders=look.orders([*inside, *wanting]),
            since=stop.since,
            limit_at=limit,
            expected_at=stop.until or stop.assumed,
            assumed=stop.until is None and stop.assumed is not None,
            reason=stop.reason,
            helps=(
                *((Help.USE_OTHER_MACHINE,) if other else ()),
                *((Help.MOVE_LOTS,) if inside and not wanting else (Help.REPAIR_BY,)),
            ),
            save_by=_save_by(look, machine, wanting, limits),
        ),
    )


def _save_by(look: Look, machine: Equipment, wanting: list[PlannedTask], limits: list[datetime]) -> datetime | None:
    """Back by then, nothing more is lost: as the planner found it, else so that no window of what is planned on it is
    missed, each run after the one before it."""
    known, found = latest_return(look.state.instants, machine.id) if look.state.instants else (False, None)
    if known:
        return found
    if not limits:
        return None
    latest: datetime | None = None
    for task in sorted(wanting, key=lambda t: t.start, reverse=True):
        closes = start_bounds(look.state, task, look.live).closes
        after = latest - (task.end - task.start) if latest is not None else None
        latest = min((x for x in (closes, after) if x is not None), default=None)
    return latest if latest is not None and latest >= look.now else None


def _held(look: Look, lot: LotCode, record: LotRecord) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    tasks = [look.plan.tasks[t] for t in look.plan.lot_tasks.get(lot, ())]
    here = [t for t in tasks if look.status(t) is TaskStatus.IN_HAND]
    recipe = look.recipe_of(lot)
    nexts = [t for t in tasks if t.kind is TaskKind.WORK and look.status(t) is TaskStatus.WAITING]
    shown = here or nexts[:1] or tasks[-1:]
    starts: list[datetime] = [look.live[t.id].start for t in nexts]
    starts += [look.live[k.id].start for s in here for k in look.plan.takers(s.id)]
    yield (
        alarm_id(AlarmKind.LOT_ON_HOLD, lot),
        AlarmFacts(
            kind=AlarmKind.LOT_ON_HOLD,
            priority=Priority.WARNING,
            title=look.kitchen.recipes[recipe].name if recipe is not None and recipe in look.kitchen.recipes else lot,
            lot=lot,
            lots=(lot,),
            equipment=here[0].equipment if here else None,
            stations=look.stations(shown),
            orders=look.plan.lot_orders.get(lot, ()),
            since=record.since,
            limit_at=min((s for s in starts if s > look.now + timedelta(minutes=1)), default=None),
            reason=record.reason,
            helps=(Help.DECIDE_LOT, *((Help.KEEP_COOLING,) if _kept_cold(look, tasks) else ())),
        ),
    )


_COLD = (Process.CHILL, Process.AGE, Process.CHURN, Process.HARDEN, Process.STORE)


def _kept_cold(look: Look, tasks: list[PlannedTask]) -> bool:
    """Whether what was done last with a lot has made it cold, or keeps it."""
    begun = [t for t in tasks if look.status(t) in (TaskStatus.IN_HAND, TaskStatus.DONE)]
    last = max(begun, key=lambda t: (look.live[t.id].start, t.id), default=None)
    return last is not None and last.process in _COLD
