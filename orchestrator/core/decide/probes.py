"""Probes: checked, corrected, put elsewhere, washed. Each by a named person."""

from collections.abc import Iterator
from datetime import datetime
from typing import Final

from orchestrator.core.commands import ApplyOffset, AssignProbe, CheckProbe, ConfirmWashed
from orchestrator.core.decide.case import Case, Decision, named
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CrewId, EquipmentId, TaskId
from orchestrator.core.limit_folds import tolerance_of
from orchestrator.core.models import PlannedTask, Probe
from orchestrator.core.probe_events import (
    ProbeAssigned,
    ProbeChecked,
    ProbeOffsetApplied,
    ProbeWashAsked,
    ProbeWashed,
)
from orchestrator.core.probe_traces import expected_at, goes_in, judged_by, lot_allergens, touched
from orchestrator.core.state import TaskStatus

TOLERANCE_SOURCE: Final = "FDA Food Code 2022, 4-203.11"
LARGEST_OFFSET_C: Final = 3.0
"""A probe that is off by more is not corrected but replaced; a figure of ours."""
_SAME_C: Final = 0.06
"""A tenth of a degree as a screen shows it, either way."""

ProbeCommand = CheckProbe | ApplyOffset | AssignProbe | ConfirmWashed


def on_probe(case: Case, command: ProbeCommand) -> Decision | Refusal:
    """Carry out an act on a probe."""
    probe = case.known.probes.get(command.probe)
    if probe is None:
        return Refusal(
            code=RefusalCode.UNKNOWN, thing=command.probe, status="no such probe", remedy="a probe of this kitchen"
        )
    who = named(case, probe.id, "to answer for the probe")
    if isinstance(who, Refusal):
        return who
    match command:
        case CheckProbe():
            return _check(case, probe, who, command)
        case ApplyOffset():
            return _offset(case, probe, who, command)
        case AssignProbe():
            return _assign(case, probe, command)
        case ConfirmWashed():
            return Decision((ProbeWashed(probe=probe.id, at=case.at, person=who),))


def _check(case: Case, probe: Probe, who: CrewId, command: CheckProbe) -> Decision | Refusal:
    """A failed check names every lot that the probe has judged since the last good one."""
    kitchen = case.kitchen
    expected = command.reference_c if command.point == "reference" else expected_at(kitchen, command.point)
    if expected is None:
        status, remedy = "the reference's reading is missing", "write down what the reference thermometer showed"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=probe.id, status=status, remedy=remedy)
    unit = kitchen.temperature_unit
    tolerance_c = tolerance_of(unit) / (1.0 if unit == "C" else 1.8)
    passed = abs(command.shown_c - expected) <= tolerance_c + 1e-9
    good = case.state.probes.last_good(probe.id)
    since = None if passed or good is None else good.at
    event = ProbeChecked(
        probe=probe.id,
        at=case.at,
        person=who,
        point=command.point,
        expected_c=expected,
        shown_c=command.shown_c,
        tolerance_c=tolerance_c,
        source=TOLERANCE_SOURCE,
        passed=passed,
        altitude_m=kitchen.altitude_m if command.point == "boiling" else None,
        doubt_since=since,
        in_doubt=() if passed else judged_by(case.state, probe.id, since),
    )
    return Decision((event,))


def _offset(case: Case, probe: Probe, who: CrewId, command: ApplyOffset) -> Decision | Refusal:
    """What the last check showed, and nothing else; nobody invents an offset."""
    book = case.state.probes
    before, last = book.offset_at(probe.id, case.at), book.last_check(probe.id)
    if command.offset_c != 0.0:
        if last is None or (book.offsets.get(probe.id) and book.offsets[probe.id][-1].at >= last.at):
            remedy = "check it first, in ice water or boiling water"
            return Refusal(
                code=RefusalCode.WRONG_STATE, thing=probe.id, status="no check since the last offset", remedy=remedy
            )
        shown = before - last.error_c
        if abs(command.offset_c - shown) > _SAME_C:
            status = f"the last check asks for {shown:+.1f} °C"
            return Refusal(code=RefusalCode.STALE, thing=probe.id, status=status, remedy="look at the check again")
        if abs(shown) > LARGEST_OFFSET_C:
            status = f"it is off by more than {LARGEST_OFFSET_C:g} °C"
            return Refusal(code=RefusalCode.BAD_VALUE, thing=probe.id, status=status, remedy="take another probe")
    elif before == 0.0:
        return Refusal(
            code=RefusalCode.WRONG_STATE, thing=probe.id, status="it has no offset", remedy="nothing: it is as it is"
        )
    event = ProbeOffsetApplied(
        probe=probe.id, at=case.at, person=who, offset_c=round(command.offset_c, 3), before_c=before
    )
    return Decision((event,))


def _assign(case: Case, probe: Probe, command: AssignProbe) -> Decision | Refusal:
    place = _place(case, probe, command)
    if isinstance(place, Refusal):
        return place
    equipment, task = place
    reads = "core" if task is not None else command.reads or probe.reads
    if reads == "air" and case.known.equipment[equipment].holds is None and probe.reads == "core":
        status = f"{equipment} has no temperatures that its air is kept at"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=probe.id, status=status, remedy="put it into the food there")
    event = ProbeAssigned(
        probe=probe.id,
        at=case.at,
        person=case.person,
        equipment=equipment,
        task=task.id if task is not None else None,
        reads=reads,
        before=probe.equipment,
    )
    inside = task or _in_hand(case, equipment)
    asked = (_wash(case, probe, inside, case.at) if reads == "core" and inside is not None else None,)
    return Decision((event, *(a for a in asked if a is not None)))


def _place(case: Case, probe: Probe, command: AssignProbe) -> tuple[EquipmentId, PlannedTask | None] | Refusal:
    if (command.task is None) == (command.equipment is None):
        status, remedy = "it goes to one place", "name a task, or a machine or store"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=probe.id, status=status, remedy=remedy)
    if command.equipment is not None:
        if command.equipment not in case.known.equipment:
            remedy = f"one of {', '.join(case.known.equipment)}"
            return Refusal(code=RefusalCode.UNKNOWN, thing=command.equipment, status="no such machine", remedy=remedy)
        return command.equipment, None
    task = case.threads.tasks.get(TaskId(command.task or "")) if case.plan is not None else None
    where = None if task is None else case.state.record(task.id).equipment or task.equipment
    if task is None or where is None:
        why = "not in the present plan" if task is None else "it is done on no machine"
        return Refusal(
            code=RefusalCode.UNKNOWN, thing=command.task or "", status=why, remedy="a task of the plan on a machine"
        )
    if case.state.record(task.id).status not in (TaskStatus.IN_HAND, TaskStatus.WAITING):
        status = case.state.record(task.id).status.value
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status=status, remedy="a task that is not over")
    return where, task


def _in_hand(case: Case, equipment: EquipmentId) -> PlannedTask | None:
    tasks = case.threads.tasks.values() if case.plan is not None else ()
    for task in tasks:
        record = case.state.record(task.id)
        on = record.status is TaskStatus.IN_HAND and (record.equipment or task.equipment) == equipment
        if on and goes_in(task):
            return task
    return None


def washes_asked(case: Case, task: PlannedTask, machine: EquipmentId | None, at: datetime) -> Iterator[ProbeWashAsked]:
    """Of each probe that goes into a task now begun: whether it must have been washed in between."""
    if machine is None or not goes_in(task):
        return
    for probe in case.known.probes_at.get(machine, ()):
        elsewhere = case.state.probes.task_of(probe.id)
        if probe.reads == "core" and elsewhere in (None, task.id):
            asked = _wash(case, probe, task, at)
            if asked is not None:
                yield asked


def _wash(case: Case, probe: Probe, task: PlannedTask, at: datetime) -> ProbeWashAsked | None:
    """From food with an allergen into food without it."""
    if task.lot is None:
        return None
    own = lot_allergens(case.state, task.lot)
    after = {lot: has - own for lot, has in touched(case.state, probe.id).items() if lot != task.lot and has - own}
    if not after:
        return None
    allergens = tuple(sorted(frozenset().union(*after.values())))
    return ProbeWashAsked(probe=probe.id, at=at, task=task.id, lot=task.lot, after=tuple(after), allergens=allergens)
