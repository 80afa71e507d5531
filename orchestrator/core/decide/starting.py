"""Starting a step: its turn, its lot, its machine, its gates, its window."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from orchestrator.core import gates
from orchestrator.core.commands import StartTask
from orchestrator.core.decide.case import Case, Decision, named, ready, with_replan
from orchestrator.core.decide.doubt import lots_usable
from orchestrator.core.decide.machine_free import free_machine
from orchestrator.core.decide.probes import washes_asked
from orchestrator.core.decide.stays import stays_end
from orchestrator.core.decide.using import date_goes_along, lots_used
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import GateEvidence, TaskStarted
from orchestrator.core.follow_on import Shut, shut
from orchestrator.core.models import PlannedTask, TaskKind, WindowClass
from orchestrator.core.state import LotStatus, TaskStatus
from orchestrator.core.task_lifecycle import TaskAct

_ENDED = (TaskStatus.DONE, TaskStatus.SKIPPED)


def start(case: Case, command: StartTask) -> Decision | Refusal:
    """Begin a step; the stay that it takes from ends at the same instant."""
    task = ready(case, command.task, TaskAct.START)
    if isinstance(task, Refusal):
        return task
    refusal = _its_turn(case, task) or lots_usable(case, task)
    if refusal is not None:
        return refusal
    at = max([case.at, *_ends_before(case, task)])
    machine = free_machine(case, task, command.equipment)
    if isinstance(machine, Refusal):
        return machine
    evidence = _checked(case, gates.judge(case.state, case.facts, task, case.now, machine), command)
    refusal = (
        _gates(case, task, evidence, command) or _follow_on(case, task, command) or _window(case, task, at, command)
    )
    if refusal is not None:
        return refusal
    started = TaskStarted(
        task=task.id,
        at=at,
        person=case.person,
        equipment=machine,
        gates=evidence,
        override_reason=command.override_reason,
    )
    other = machine is not None and machine != task.equipment
    used, washes = lots_used(case, task, at), washes_asked(case, task, machine, at)
    reason = f"{task.id} is on {machine}" if other else date_goes_along(case, task, used)
    return with_replan(case, (started, *stays_end(case, task, at), *used, *washes), reason)


def _its_turn(case: Case, task: PlannedTask) -> Refusal | None:
    if task.kind is TaskKind.STAY:
        remedy = "finish the task before it: the stay begins at that instant"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status="a stay begins by itself", remedy=remedy)
    for link in task.links:
        before = case.threads.tasks.get(link.after)
        if before is None:
            continue
        status = case.state.record(before.id).status
        if status in _ENDED or (before.kind is TaskKind.STAY and status is TaskStatus.IN_HAND):
            continue
        first = _to_be_done_for(case, before)
        return Refusal(
            code=RefusalCode.WRONG_STATE,
            thing=task.id,
            status=f"its turn has not come: {before.title} ({before.id}) is {status.value}",
            remedy=f"finish {first.title} ({first.id}) first",
        )
    return None


def _to_be_done_for(case: Case, task: PlannedTask) -> PlannedTask:
    """Of a stay that has not begun, the step that it waits for: nobody can finish what begins and ends by itself."""
    while task.kind is TaskKind.STAY and case.state.record(task.id).status is TaskStatus.WAITING:
        before = (case.threads.tasks.get(link.after) for link in task.links)
        open_ones = (one for one in before if one is not None and case.state.record(one.id).status not in _ENDED)
        found = next(open_ones, None)
        if found is None:
            break
        task = found
    return task


def _ends_before(case: Case, task: PlannedTask) -> Iterator[datetime]:
    """A queued tap may carry a clock a little behind: nothing starts before what it follows has ended."""
    for link in task.links:
        record = case.state.record(link.after)
        end = record.finished_at or record.started_at
        if end is not None:
            yield end


def _checked(case: Case, evidence: tuple[GateEvidence, ...], command: StartTask) -> tuple[GateEvidence, ...]:
    """Gates that no probe can judge are met when a named person says to have looked; a reading is never overruled."""
    if case.person is None:
        return evidence
    seen = {"met": True, "checked": True}
    return tuple(g.model_copy(update=seen) if g.met is None and g.says in command.checked else g for g in evidence)


def _gates(case: Case, task: PlannedTask, evidence: tuple[GateEvidence, ...], command: StartTask) -> Refusal | None:
    shut = [gate for gate in evidence if gate.met is not True]
    if not shut:
        return None
    unmet = [gate for gate in shut if gate.met is False]
    words = "; ".join(_gate_words(gate) for gate in shut)
    if unmet and gates.is_safety(case.state, task):
        remedy = "wait until the gate is met: a safety step may not start before"
        if {gate.says for gate in unmet} <= gates.of_food(case.state, task):
            remedy = "measure the food by hand, or wait until the gate is met: a safety step may not start before"
        return Refusal(code=RefusalCode.GATE_SHUT, thing=task.id, status=words, remedy=remedy)
    if command.checked and not unmet:
        nobody = named(case, task.id, "to have checked the gate")
        if isinstance(nobody, Refusal):
            return nobody
    if case.person is None or not command.override_reason:
        remedy = "measure by hand, look and say that you checked it" if not unmet else "wait until the gate is met"
        if not unmet and all(gate.awaits for gate in shut):
            remedy = "receive it, or look and say that it is here"
        remedy += ", or name a person and a reason"
        return Refusal(code=RefusalCode.GATE_SHUT, thing=task.id, status=words, remedy=remedy)
    return None


def _gate_words(gate: GateEvidence) -> str:
    if gate.celsius is not None:
        return f"{gate.says}: {gate.celsius:.1f} °C"
    if gate.met is False:
        return gate.says
    if gate.awaits:
        return f"{gate.awaits} is not received yet"
    return f"{gate.says}: no reading" + (f", {gate.doubt}" if gate.doubt else "")


def _follow_on(case: Case, task: PlannedTask, command: StartTask) -> Refusal | None:
    """What must follow at once finds a machine in time: else the food would wait past its limit."""
    found = shut(case.state, task, case.now)
    if found is None:
        return None
    machine = case.known.equipment[found.machine].name
    if found.in_the_way:
        return _in_the_way(case, task, command, found)
    status = (
        f"{found.task.title} must follow by {case.clock(found.needed_by)}, "
        f"but {machine} is not free before {case.clock(found.free_at)}"
    )
    wait = f"start from {case.clock(found.start_from)} on, or free {machine} sooner"
    if found.cls is WindowClass.SAFETY:
        remedy = f"{wait}: the lot would go past its safety limit and on hold"
        return Refusal(code=RefusalCode.GATE_SHUT, thing=task.id, status=status, remedy=remedy)
    if case.person is not None and command.override_reason:
        return None
    remedy = f"{wait}; or name a person and a reason: the lot would miss its quality window"
    return Refusal(code=RefusalCode.GATE_SHUT, thing=task.id, status=status, remedy=remedy)


def _in_the_way(case: Case, task: PlannedTask, command: StartTask, found: Shut) -> Refusal | None:
    """The start would take the machine that something in hand is about to need: what is put in can be taken out again,
    so a named person may, with a reason, whatever the window."""
    if case.person is not None and command.override_reason:
        return None
    machine = case.known.equipment[found.machine].name
    status = (
        f"{found.task.title} must be in {machine} by {case.clock(found.needed_by)}, "
        f"and this would keep it until {case.clock(found.free_at)}"
    )
    what = "safety limit" if found.cls is WindowClass.SAFETY else "quality window"
    remedy = (
        f"start from {case.clock(found.start_from)} on; or name a person and a reason: "
        f"the lot of {found.task.id} would miss its {what}"
    )
    return Refusal(code=RefusalCode.GATE_SHUT, thing=task.id, status=status, remedy=remedy)


def _window(case: Case, task: PlannedTask, at: datetime, command: StartTask) -> Refusal | None:
    for window, opens, closes in _windows(case, task):
        if at < opens and window is not WindowClass.PREFERENCE:
            says = f"its window opens {case.clock(opens)}"
            if window is WindowClass.SAFETY:
                remedy = f"wait until {case.clock(opens)}: a safety window may not be cut short"
                return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status=says, remedy=remedy)
            if not command.override_reason or isinstance(named(case, task.id, "to start early"), Refusal):
                remedy = f"wait until {case.clock(opens)}, or name a person and a reason"
                return Refusal(code=RefusalCode.NOT_ALLOWED, thing=task.id, status=says, remedy=remedy)
        missed = closes is not None and at > closes and window is WindowClass.SAFETY
        if missed and closes is not None and not _released_since(case, task, closes):
            says = f"its safety window closed {case.clock(closes)}"
            return Refusal(
                code=RefusalCode.WRONG_STATE, thing=task.id, status=says, remedy="decide about the lot first"
            )
    return None


def _windows(case: Case, task: PlannedTask) -> Iterator[tuple[WindowClass, datetime, datetime | None]]:
    """Class, opening and closing of each window on the start, from actual times."""
    for life in task.lives:
        ended = case.state.record(life.after).finished_at if life.after is not None else None
        closes = life.until if ended is None or life.most is None else ended + timedelta(minutes=life.most)
        if closes is not None:
            yield WindowClass.SAFETY, datetime.min.replace(tzinfo=UTC), closes
    for link in task.links:
        before, record = case.threads.tasks.get(link.after), case.state.record(link.after)
        if before is None:
            continue
        if before.kind is TaskKind.STAY and before.stay is not None:
            origin, least, most, window = record.started_at, before.stay.least, before.stay.most, before.stay.window
        else:
            origin, least, most, window = record.finished_at, link.least, link.most, link.window
        if origin is not None:
            closes = None if most is None else origin + timedelta(minutes=most)
            yield window, origin + timedelta(minutes=least) - _early_by_plan(case, task, before), closes


def _early_by_plan(case: Case, task: PlannedTask, before: PlannedTask) -> timedelta:
    """How much too early the adopted plan itself, openly, starts the task: nobody need give a reason again."""
    early = case.threads.early
    # A stay cut short may be named by its consumer or by what filled it.
    fills = (link.after for link in before.links if before.kind is TaskKind.STAY)
    pairs = [frozenset({task.id, before.id}), *(frozenset({before.id, fill}) for fill in fills)]
    return max((early[pair] for pair in pairs if pair in early), default=timedelta(0))


def _released_since(case: Case, task: PlannedTask, missed_at: datetime) -> bool:
    """Whether a named person released the lot knowing of the miss."""
    lots = {task.lot} | {b.lot for link in task.links if (b := case.threads.tasks.get(link.after)) is not None}
    records = [case.state.lots.get(lot) for lot in lots if lot is not None]
    return any(r is not None and r.status is LotStatus.FREE and r.since >= missed_at for r in records)
