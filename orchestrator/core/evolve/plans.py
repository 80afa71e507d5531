"""What adopting, proposing and declining a plan change."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

from orchestrator.core.adoption import same
from orchestrator.core.events import (
    InstantsFound,
    PlanAdopted,
    PlanDeclined,
    PlanProposed,
    Recorded,
    TaskFreed,
    TaskHeld,
)
from orchestrator.core.evolve import instants, kitchen
from orchestrator.core.holding import held_as_before, with_hold
from orchestrator.core.ids import EquipmentId, LotCode, TaskId
from orchestrator.core.models import Plan, PlannedTask, TaskKind
from orchestrator.core.state import LotRecord, LotStatus, Proposal, State, TaskRecord, TaskStatus

PlanEvent = PlanAdopted | PlanProposed | PlanDeclined | InstantsFound | TaskHeld | TaskFreed


def apply(state: State, recorded: Recorded, event: PlanEvent) -> State:
    """A plan holds, waits, is gone, or is better known; what has happened to tasks stays on record."""
    if isinstance(event, InstantsFound):
        return instants.apply(state, event)
    if isinstance(event, PlanDeclined):
        return replace(state, proposal=None, agreed=None if _stands(state) else state.agreed)
    if isinstance(event, PlanProposed):
        proposal = Proposal(recorded.seq, event.plan, event.moves, event.waits_for, event.decide_by)
        return replace(state, proposal=proposal, replan_reason="")
    if isinstance(event, TaskHeld | TaskFreed):
        held = isinstance(event, TaskHeld)
        return replace(state, plan=with_hold(state.plan, event.task, held=held)) if state.plan is not None else state
    adopted = replace(
        state,
        plan=held_as_before(event.plan, state.plan),
        revision=state.revision + 1,
        adopted_at=event.at,
        moves=event.moves,
        agreed=(state.agreed or state.plan) if event.provisional else None,
        instants=None,
        tasks=_stays_begun(event.plan, state.tasks, state.lots),
    )
    adopted = kitchen.planned(adopted, provisional=event.provisional)
    if event.provisional:
        return adopted  # the full plan is still to come, and a proposal still waits
    return replace(adopted, proposal=None, replan_reason="")


def _stands(state: State) -> bool:
    """Whether what was asked about is worked by already: somebody could have said no, and it stands."""
    return state.proposal is not None and state.plan is not None and same(state, state.proposal.plan)


def _stays_begun(
    plan: Plan, tasks: Mapping[TaskId, TaskRecord], lots: Mapping[LotCode, LotRecord]
) -> dict[TaskId, TaskRecord]:
    """Stock on hand, and shares of a lot that a new plan divides anew, are in their place already."""
    records = dict(tasks)
    for task in plan.tasks:
        record = records.get(task.id, TaskRecord())
        if task.kind is not TaskKind.STAY or record.status is not TaskStatus.WAITING or _discarded(task, lots):
            continue
        since = _filled_at(task, records)
        if since is not None:
            place = record.equipment or _moved_to(task, tasks) or task.equipment
            records[task.id] = replace(record, status=TaskStatus.IN_HAND, started_at=since, equipment=place)
    return records


def _moved_to(task: PlannedTask, tasks: Mapping[TaskId, TaskRecord]) -> EquipmentId | None:
    """Where the other shares of a lot are in fact: they may have been moved away from where plans have them."""
    shares = f"{task.lot}.{task.step or task.id.split('.')[1]}."
    places = [r.equipment for t, r in tasks.items() if t.startswith(shares) and r.status is TaskStatus.IN_HAND]
    return places[-1] if places else None


def _discarded(task: PlannedTask, lots: Mapping[LotCode, LotRecord]) -> bool:
    record = lots.get(task.lot) if task.lot is not None else None
    return record is not None and record.status is LotStatus.DISCARDED


def _filled_at(task: PlannedTask, records: Mapping[TaskId, TaskRecord]) -> datetime | None:
    """When what fills a stay ended in fact: the last of its tasks, if all have; stock was there at the start."""
    if not task.links:
        return task.start
    ends = [records[link.after].finished_at if link.after in records else None for link in task.links]
    known = [end for end in ends if end is not None]
    return max(known) if len(known) == len(ends) else None
