"""The whole kitchen over its days: a section from fire down to freezer."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final, Literal

from orchestrator.core.alarms import Look, look
from orchestrator.core.found import latest_start
from orchestrator.core.ids import TaskId
from orchestrator.core.kitchen_book import LaterStop
from orchestrator.core.models import Equipment, Maintenance, Plan, PlannedTask, TaskKind
from orchestrator.core.models.alarm import AlarmKind
from orchestrator.core.models.equipment import Floor
from orchestrator.core.models.questions import LatestStart
from orchestrator.core.models.risk import CERTAIN
from orchestrator.core.planning import back_at
from orchestrator.core.state import Facts, State, TaskStatus
from orchestrator.core.views.board_groups import batch_rows, crew_rows, hands_spans
from orchestrator.core.views.board_models import BlockView, BoardView, ProposalView, RowView
from orchestrator.core.views.figures import ChanceChange
from orchestrator.core.views.hands import hands_profile
from orchestrator.core.views.orders import build_orders
from orchestrator.core.views.people import person_views, sorted_alarms
from orchestrator.core.views.stores import air
from orchestrator.core.windows import bounds, start_bounds

_FLOORS: Final = list(Floor)
LITTLE_SLACK: Final = timedelta(minutes=15)
"""A task that can wait no longer than this is marked as tight; a figure of ours: a quarter of an hour is soon lost."""
_Flag = Literal["", "moved", "tight", "late", "at risk", "missed", "on hold"]
_Status = Literal["planned", "in hand", "done", "skipped", "clean", "stopped"]
_STATUS: Final[dict[TaskStatus, _Status]] = {
    TaskStatus.WAITING: "planned",
    TaskStatus.IN_HAND: "in hand",
    TaskStatus.DONE: "done",
    TaskStatus.SKIPPED: "skipped",
}


def board_view(state: State, facts: Facts, now: datetime) -> BoardView:
    """The production board; before the first plan its rows are empty.

    Raises:
        KeyError: there is no kitchen yet.
    """
    seen = look(state, facts, now)
    if seen is None:
        raise KeyError("kitchen")
    plan = seen.plan.plan
    flags = _flags(seen)
    by_machine: dict[str, list[PlannedTask]] = {}
    for task in plan.tasks:
        machine = seen.machine(task)
        if not (seen.gone(task.lot) and seen.status(task) is TaskStatus.WAITING):
            by_machine.setdefault(machine.id if machine is not None else "", []).append(task)
    places = sorted(seen.kitchen.equipment.values(), key=lambda e: _FLOORS.index(e.floor))
    return BoardView(
        start=plan.start,
        end=plan.end,
        hands=hands_profile(seen, plan.start, plan.end),
        rows=tuple(_row(seen, place, by_machine.get(place.id, []), flags) for place in places),
        orders=build_orders(seen),
        alarms=sorted_alarms(state.alarms.values()),
        proposal=_proposal(seen) if state.proposal is not None else None,
        plan_revision=state.revision,
        adopted_at=state.adopted_at,
        moves=state.moves,
        people=person_views(seen),
        shaky=tuple(w for w in plan.shaky if state.record(w.task).status is TaskStatus.WAITING),
        simulated_runs=plan.simulated_runs,
        unplaced=tuple(_block(seen, task, flags) for task in by_machine.get("", ())),
        batches=batch_rows(seen),
        crew=crew_rows(seen),
    )


def _proposal(look: Look) -> ProposalView:
    waits = look.state.proposal
    assert waits is not None
    return ProposalView(
        proposal=waits.seq,
        moves=waits.moves,
        waits_for=waits.waits_for,
        decide_by=waits.decide_by,
        chances=tuple(_chances(look, waits.plan)),
    )


def _chances(look: Look, proposed: Plan) -> Iterator[ChanceChange]:
    """Side by side, so that whoever decides sees what the other plan risks."""
    before = {view.order: view.outlook for view in build_orders(look)}
    after = {outlook.order: outlook.chance for outlook in proposed.outlooks}
    for order in sorted(look.kitchen.orders.values(), key=lambda o: (o.due, o.id)):
        held, chance = before.get(order.id), after.get(order.id)
        present = held.chance if held is not None else None
        if chance is not None and min(chance, 1.0 if present is None else present) < CERTAIN:
            yield ChanceChange(order=order.id, customer=order.customer, present=present, proposed=chance)


def _flags(look: Look) -> dict[TaskId, _Flag]:
    """What has to be written at a block: moved by the last adoption, little slack, late, at risk or missed by its
    alarm."""
    flags: dict[TaskId, _Flag] = {move.task: "moved" for move in look.state.moves if move.what != "gone"}
    flags |= {task.id: "tight" for task in look.plan.plan.tasks if _is_tight(look, task)}
    for alarm in look.state.alarms.values():
        facts = alarm.facts
        if facts.task is None or not look.standing(alarm.id) or facts.kind in _NO_BLOCK:
            continue
        if facts.kind is AlarmKind.TASK_LATE:  # less than a window at risk, whichever alarm comes first
            if flags.get(facts.task) not in {"at risk", "missed"}:
                flags[facts.task] = "late"
            continue
        flag: _Flag = "missed" if facts.missed else "at risk"
        flags[facts.task] = flag
        for stay in look.plan.joined_stays(look.plan.tasks[facts.task]) if facts.task in look.plan.tasks else ():
            flags[stay.id] = flag
    return flags


def _latest(look: Look, task: PlannedTask) -> LatestStart | None:
    return latest_start(look.state, task.id) if look.status(task) is TaskStatus.WAITING else None


def _is_tight(look: Look, task: PlannedTask) -> bool:
    """Only what was found to the minute counts: another bound says nothing of how little there is."""
    latest = _latest(look, task)
    return latest is not None and latest.exact and latest.at - look.live[task.id].start <= LITTLE_SLACK


_NO_BLOCK: Final = {
    AlarmKind.ORDER_LATE,
    AlarmKind.PROBE_SILENT,
    AlarmKind.PROBE_DOUBTED,
    AlarmKind.PROBE_BATTERY,
    AlarmKind.PROBE_CHECK_DUE,
}


def _row(look: Look, place: Equipment, tasks: list[PlannedTask], flags: dict[TaskId, _Flag]) -> RowView:
    fact = air(look, place)
    blocks = [_block(look, task, flags) for task in tasks]
    stop = look.state.machines.get(place.id)
    if stop is not None:
        until = back_at(stop, max(look.now, stop.since))
        blocks.append(
            BlockView(
                task=None,
                label="",
                title=stop.reason,
                start=stop.since,
                end=max(stop.since, until),
                done_until=look.now,
                status="stopped",
            )
        )
    blocks += [_planned_stop(look, planned) for planned in place.maintenance]
    blocks += [_later_stop(later) for later in look.state.by_hand.stops if later.equipment == place.id]
    return RowView(
        equipment=place.id,
        name=place.name,
        floor=place.floor,
        store=place.store,
        capacity=place.capacity,
        celsius=fact.celsius if fact else None,
        low_c=place.holds.low if place.holds else None,
        high_c=place.holds.high if place.holds else None,
        outside_since=fact.outside_since if fact else None,
        stopped=look.stopped(place.id),
        blocks=tuple(sorted(blocks, key=lambda b: (b.start, b.task or ""))),
    )


def _later_stop(later: LaterStop) -> BlockView:
    """Drawn like a stop that has begun."""
    return BlockView(
        task=None,
        label="",
        title=later.reason,
        start=later.start,
        end=later.end,
        done_until=later.start,
        status="stopped",
    )


def _planned_stop(look: Look, planned: Maintenance) -> BlockView:
    """Drawn like a stop, wherever it lies on the axis."""
    return BlockView(
        task=None,
        label="",
        title=planned.why,
        start=planned.start,
        end=planned.end,
        done_until=min(max(look.now, planned.start), planned.end),
        status="stopped",
        maintenance=True,
    )


def _block(look: Look, task: PlannedTask, flags: dict[TaskId, _Flag]) -> BlockView:
    live, status = look.live[task.id], look.status(task)
    opens, closes = _marks(look, task)
    latest = _latest(look, task)
    done_until = None
    if status is TaskStatus.IN_HAND:
        done_until = min(look.now, live.end)
    elif status is TaskStatus.DONE:
        done_until = live.end
    clean = task.kind is TaskKind.CLEAN and status is TaskStatus.WAITING
    machine = look.machine(task)
    flag = "on hold" if look.on_hold(task.lot) else flags.get(task.id, "")
    return BlockView(
        task=task.id,
        label=task.lot or task.order or "",
        title=task.title,
        start=live.start,
        end=live.end,
        done_until=done_until,
        status="clean" if clean else _STATUS[status],
        flag=flag,
        planned=task.start if flag == "late" and live.start > task.start else None,
        latest_start=latest.at if latest is not None else None,
        latest_is_exact=latest is not None and latest.exact,
        litres=task.load if task.kind is TaskKind.STAY or _in_store(look, task) else 0.0,
        opens=opens,
        closes=closes,
        feeds=tuple(dict.fromkeys(f for f, _ in look.plan.followers.get(task.id, ()))),
        process=task.process.value,
        lot=task.lot,
        order=task.order,
        place=machine.name if machine is not None else _station(look, task),
        stay=task.kind is TaskKind.STAY,
        spans=hands_spans(look, task),
    )


def _station(look: Look, task: PlannedTask) -> str:
    station = look.kitchen.stations.get(task.station)
    return station.name if station is not None else task.station


def _in_store(look: Look, task: PlannedTask) -> bool:
    """Whether its machine is a store, as a blast freezer is to a hardening step."""
    machine = look.machine(task)
    return machine is not None and machine.store


def _marks(look: Look, task: PlannedTask) -> tuple[datetime | None, datetime | None]:
    """Of a stay: earliest and latest leaving; of other tasks that wait: their latest start."""
    status = look.status(task)
    if task.kind is TaskKind.STAY and task.stay is not None:
        if status is TaskStatus.IN_HAND:
            window = bounds(look.state, task)
            return window.opens, window.closes
        return _planned_stay(look, task)
    if status is not TaskStatus.WAITING:
        return None, None
    return None, start_bounds(look.state, task, look.live).closes


def _planned_stay(look: Look, task: PlannedTask) -> tuple[datetime, datetime | None]:
    start, stay = look.live[task.id].start, task.stay
    assert stay is not None
    return start + timedelta(minutes=stay.least), None if stay.most is None else start + timedelta(minutes=stay.most)
