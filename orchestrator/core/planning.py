"""What the planner is told, and when things that are in hand are expected to end."""

from datetime import datetime, timedelta
from math import ceil
from typing import Final

from orchestrator.core.by_products import leavers
from orchestrator.core.changes_orders import planned_anew
from orchestrator.core.holding import still_held
from orchestrator.core.ids import CrewId, LotCode, TaskId
from orchestrator.core.kept_room import Span, kept_room
from orchestrator.core.left_overs_in import left_overs_in
from orchestrator.core.material import Part, accounts_here, batch_of
from orchestrator.core.measured_yields import corrections
from orchestrator.core.models import Actual, AllowedBreak, PlannedTask, PlanRequest, Stop, TaskKind
from orchestrator.core.pace import end_in_hand
from orchestrator.core.state import LotStatus, MachineStop, State, TaskRecord, TaskStatus
from orchestrator.core.supplies_now import supplies_now

PLAN_PATIENCE: Final = timedelta(minutes=2)
"""So long a plan that is wanted is waited for before what it may still mend is told. A repair takes a second, a full
plan some."""
UNKNOWN_STOP: Final = timedelta(hours=2)
"""How long a machine is taken to stay stopped when nobody said until when; an assumption of ours. When it has passed
and nothing was heard, as long again."""


def back_at(stop: MachineStop, now: datetime) -> datetime:
    """When a stopped machine will be back, as far as anybody knows: as somebody said, else as it is taken to be."""
    if stop.until is not None:
        return stop.until
    return stop.assumed if stop.assumed is not None and stop.assumed > now else now + UNKNOWN_STOP


def expected_end(state: State, task: PlannedTask | TaskId, now: datetime) -> datetime:
    """When a task ends: in fact if it has ended, else as its start and its usual minutes let expect.

    Args:
        state: What is known.
        task: A task of the adopted plan, or its id.
        now: The present instant; nothing that is in hand is expected to end before it.

    Returns:
        For work: its start, its usual minutes on its machine and those a cook added; later where a probe says so.
        For a stay: its planned end.

    Raises:
        KeyError: the id is not in the adopted plan.
    """
    planned = task if isinstance(task, PlannedTask) else _planned(state, task)
    record = state.record(planned.id)
    if record.finished_at is not None:
        return record.finished_at
    if record.started_at is not None:
        if planned.kind is TaskKind.STAY:
            return max(planned.end, now)
        return max(end_in_hand(state, planned, record.started_at), now)
    # Not begun: the plan holds, moved to the present if its time has passed.
    return max(planned.start, now) + (planned.end - planned.start)


def _planned(state: State, task: TaskId) -> PlannedTask:
    if state.plan is None:
        raise KeyError(task)
    return state.plan.task(task)


def plan_request(state: State, now: datetime) -> PlanRequest:
    """Everything the planner needs to plan from the present.

    Args:
        state: What is known; a kitchen must have been imported.
        now: The present instant.

    Raises:
        ValueError: no kitchen has been imported.
    """
    kitchen = state.kitchen
    if kitchen is None:
        raise ValueError("no kitchen has been imported: nothing can be planned")
    supplies = supplies_now(state, now)
    if supplies is not kitchen.supplies:
        kitchen = kitchen.model_copy(update={"supplies": supplies})
    tasks = state.plan.tasks if state.plan is not None else ()
    recorded = [(task, state.tasks[task.id]) for task in tasks if task.id in state.tasks]
    actuals = tuple(_actual(state, task, record, now) for task, record in recorded if _happened(record))
    stops, held = _stops(state, now), _lots(state, LotStatus.ON_HOLD)
    # Reworked food is used by a recipe of its own; whatever the lot was meant for is made again.
    lost = _lots(state, LotStatus.DISCARDED, LotStatus.REWORK)
    request = PlanRequest(
        kitchen=kitchen,
        now=now,
        previous=None if state.plan is None else still_held(state.plan, now, actuals, stops, (*held, *lost)),
        actuals=actuals,
        stops=stops,
        held_lots=held,
        lost_lots=lost,
        counted=_counted(state),
        used=state.past.names,
        stretched={task.id: record.extended_min for task, record in recorded if record.extended_min > 0},
        left_overs=left_overs_in(state),
        allowed=_allowed(state),
        kept=kept_room(state, _spans(state, now), now) if leavers(kitchen) else (),
    )
    for order, product in sorted(state.by_hand.shrunk):
        request = planned_anew(request, order, (product,))
    return request


def _spans(state: State, now: datetime) -> dict[TaskId, Span]:
    """Where tasks of the plan are that are not over, and when; loads as the planner rounds them, up to hundredths."""
    found = {}
    for task in state.plan.tasks if state.plan is not None else ():
        record = state.record(task.id)
        if record.finished_at is None and record.status is not TaskStatus.SKIPPED:
            start = record.started_at or max(task.start, now)
            load = ceil(task.load * 100 - 1e-6) / 100
            found[task.id] = (record.equipment or task.equipment, start, expected_end(state, task, now), load)
    return found


def _allowed(state: State) -> tuple[AllowedBreak, ...]:
    """Windows that people let be missed, of tasks that still wait."""
    known = {t.id for t in state.plan.tasks} if state.plan is not None else set()
    waits = (a for a in state.by_hand.allowed() if a.task in known and not _happened(state.record(a.task)))
    return tuple(waits)


def _counted(state: State) -> dict[LotCode, float]:
    """Of lots that somebody counted, whose yield was far from the planned, or of which something went to what has left
    the plan: what is there against what the plan takes to be left of them."""
    known, gone = accounts_here(state), set(state.past.names)
    accounts = dict(corrections(state))
    accounts |= {lot: account for lot in state.counts if (account := known.get(lot)) is not None}
    pegged = {(peg.lot, peg.consumer) for peg in (state.plan.pegs if state.plan is not None else ())}

    def apart(part: Part) -> bool:
        """Whether no peg of the plan tells of it: the taker has left the plan, or was left out once it had some of
        what it wanted. What it has is had."""
        return part.into in gone or (part.to_order and (part.lot, part.into) not in pegged)

    taken = (lot for lot, account in known.items() if any(apart(part) for part in account.parts))
    accounts |= {lot: known[lot] for lot in taken}
    found = {}
    for lot, account in accounts.items():
        size = _size(state, lot)
        if size is not None:
            meant = size - sum(part.asked for part in account.parts if not apart(part))
            found[lot] = account.left + account.lost - meant
    return found


def _size(state: State, lot: LotCode) -> float | None:
    batch = batch_of(state, lot)
    stock = (s.quantity.value for s in (state.kitchen.stock if state.kitchen is not None else ()) if s.lot == lot)
    return batch.size.value if batch is not None else next(stock, None)


def _happened(record: TaskRecord) -> bool:
    return record.status is not TaskStatus.WAITING


def _actual(state: State, task: PlannedTask, record: TaskRecord, now: datetime) -> Actual:
    end = expected_end(state, task, now)
    start = record.started_at or record.finished_at or end
    status = record.status.value
    crew: tuple[CrewId, ...] = (record.started_by,) if record.started_by is not None else ()
    if task.hands > 1 or not crew:
        crew = crew + tuple(who for span in task.spans[:1] for who in span.crew if who not in crew)
    return Actual.model_validate(
        {
            "task": task.id,
            "status": status,
            "start": min(start, end),
            "end": end,
            "equipment": record.equipment or task.equipment,
            "crew": crew[: max(task.hands, 1)] if task.attended else (),
        }
    )


def _stops(state: State, now: datetime) -> tuple[Stop, ...]:
    """Machines stopped now, or from when it was told for later; those without a known end as if back when they are
    taken to be."""
    told = tuple(stop for stop in state.by_hand.told_stops() if stop.end > now)
    return told + tuple(
        Stop(equipment=machine, start=min(stop.since, now), end=max(back_at(stop, now), now))
        for machine, stop in state.machines.items()
        if stop.until is None or stop.until > now
    )


def _lots(state: State, *wanted: LotStatus) -> tuple[LotCode, ...]:
    return tuple(lot for lot, record in state.lots.items() if record.status in wanted)
