"""Taking back an act: the original stays on record, what it changed is as before."""

from datetime import timedelta
from typing import Final

from orchestrator.core.commands import Undo
from orchestrator.core.decide.case import Case, Decision, named, with_replan
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import ActUndone
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.state import Act, TaskRecord, TaskStatus

UNDO_WITHIN: Final = timedelta(minutes=30)


def undo(case: Case, command: Undo) -> Decision | Refusal:
    """Take back an act of the last 30 minutes, if nothing that followed depends on it."""
    who = named(case, f"act {command.act}", "to take it back")
    if isinstance(who, Refusal):
        return who
    act = next((act for act in case.state.acts if act.seq == command.act), None)
    if act is None:
        return _refused(command.act, "not among the latest 50 acts", "put right what it did by another act")
    if case.now - act.at > UNDO_WITHIN:
        return _refused(command.act, f"done {case.clock(act.at)}", "only acts of the last 30 min can be taken back")
    why_not = _depended_on(case, act)
    if why_not:
        return _refused(command.act, why_not, "take that back first")
    event = ActUndone(act=act.seq, at=case.at, person=who)
    moved = act.what in ("started", "finished", "extended", "skipped") or bool(act.lots_before)
    return with_replan(case, (event,), f"an act on {act.task} was taken back" if moved else "")


def _refused(act: int, status: str, remedy: str) -> Refusal:
    return Refusal(code=RefusalCode.WRONG_STATE, thing=f"act {act}", status=status, remedy=remedy)


def _depended_on(case: Case, act: Act) -> str:
    """What has come after it that would be left without ground; empty when nothing has."""
    for later in case.state.acts:
        if later.seq > act.seq and act.before.keys() & later.before.keys():
            return f"{later.task} has a later entry: {later.what}"
    lot = _decided_since(case, act)
    if lot is not None:
        return f"lot {lot} was decided about since"
    used = _used_since(case, act)
    if used or case.plan is None:
        return used
    for task in act.before:
        begun = _followed(case, act, task)
        if begun is not None:
            return f"{begun.id} has begun since"
    return _machine_taken(case, act)


def _decided_since(case: Case, act: Act) -> LotCode | None:
    """A lot of the act's tasks about which somebody has decided after it."""
    tasks = case.threads.tasks if case.plan is not None else {}
    lots = {tasks[task].lot for task in act.before if task in tasks} | set(act.lots_before)
    lots |= {LotCode(left.id) for left in case.state.pantry.by_products() if left.task in act.before}
    for lot in lots:
        record = case.state.lots.get(lot) if lot is not None else None
        if lot is not None and record is not None and record.by is not None and record.since >= act.at:
            return lot
    return None


def _used_since(case: Case, act: Act) -> str:
    """What the act left over, if somebody has taken from it."""
    for lot in case.state.pantry.by_products():
        ended = lot.task in act.before and lot.received_at >= act.at
        if ended and (case.state.pantry.used(lot.id) > 0 or lot.id in case.state.pantry.counted):
            return f"{lot.ingredient} that it left ({lot.id}) was used since"
    return ""


def _followed(case: Case, act: Act, task: TaskId) -> PlannedTask | None:
    """A task that waited for this one and has begun, other than by the act itself."""
    ended_by_act = case.state.record(task).finished_at is not None
    for follower_id, _ in case.threads.followers.get(task, ()):
        record, follower = case.state.record(follower_id), case.threads.tasks[follower_id]
        # A share of the lot that a new plan divided anew: nobody did anything with it, it goes back with the act.
        share = follower.kind is TaskKind.STAY and record.status is TaskStatus.IN_HAND and record.started_by is None
        if share:
            continue
        if ended_by_act and follower_id not in act.before and record.status is not TaskStatus.WAITING:
            return follower
    return None


def _machine_taken(case: Case, act: Act) -> str:
    """A task that would be in hand again needs its machine, which may hold another by now."""
    for task, record in act.before.items():
        planned = case.threads.tasks.get(task)
        if record is None or record.status is not TaskStatus.IN_HAND or planned is None:
            continue
        machine = case.known.equipment.get(record.equipment) if record.equipment is not None else None
        if machine is None or machine.shared or planned.kind is TaskKind.STAY:
            continue
        for other, now in case.state.tasks.items():
            if other not in act.before and _on(now, record):
                return f"{other} is on {machine.id} by now"
    return ""


def _on(record: TaskRecord, wanted: TaskRecord) -> bool:
    if record.equipment != wanted.equipment:
        return False
    # A clean-down or run that has come and gone since also tells that the machine was emptied.
    since = wanted.started_at
    return record.status is TaskStatus.IN_HAND or (
        since is not None and record.started_at is not None and record.started_at > since
    )
