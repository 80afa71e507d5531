"""What the passing of time alone brings: proposals lapse, machines come back, missed safety windows hold lots."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from orchestrator.core import day_marks, days
from orchestrator.core.clock_commands import RecordClock
from orchestrator.core.clock_events import ClockSet
from orchestrator.core.decide.case import Case, Decision, with_replan
from orchestrator.core.decide.plans import overdue_proposal
from orchestrator.core.events import Event, MachineReturned, MachineStopped, StopAssumed
from orchestrator.core.ids import LotCode
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.models import PlannedTask, TaskKind, WindowClass
from orchestrator.core.planning import UNKNOWN_STOP
from orchestrator.core.quantities import Unit
from orchestrator.core.state import LotStatus, TaskStatus
from orchestrator.core.supplies_now import expected_at, is_overdue
from orchestrator.core.supply_events import DeliveryOverdue
from orchestrator.core.wanted import wanted


def tick(case: Case) -> Decision:
    """Everything that is due by now, at once; how late the tick comes does not matter."""
    lapsed = overdue_proposal(case)
    back = tuple(_machines_back(case))
    held = tuple(_missed_in_fact(case)) if case.plan is not None else ()
    held += tuple(one for one in _past_their_days(case) if all(one.lot != h.lot for h in held))
    still = tuple(_still_stopped(case))
    begun = tuple(_stops_begin(case))
    overdue = tuple(_deliveries_overdue(case)) if case.plan is not None else ()
    reason = f"lot {held[0].lot} went on hold" if held else f"{back[0].equipment} is back" if back else ""
    if still and not reason:
        reason = f"{still[0].equipment} was taken to be back by now; nobody has said"
    if overdue and not reason:
        reason = f"{overdue[0].ingredient} should be here by now; nobody has received it"
    on = days.moved(case.state, case.now)
    if on is not None and not reason:
        reason = "the days go on"
    events: tuple[Event, ...] = (*lapsed, *back, *begun, *still, *overdue, *held, *((on,) if on is not None else ()))
    return with_replan(case, events, reason)


def clock_set(case: Case, command: RecordClock) -> Decision:
    """That the clock was set, at the instant that it shows now."""
    return Decision((ClockSet(at=case.now, seconds=command.seconds, while_away=command.while_away),))


def _deliveries_overdue(case: Case) -> Iterator[DeliveryOverdue]:
    """Deliveries that should be here and that work waits for, each told anew when what was assumed has passed."""
    for supply in case.kitchen.supplies:
        assumed = case.state.pantry.overdue.get(supply.ingredient)
        if not is_overdue(supply, case.kitchen, case.now) or (assumed is not None and assumed > case.now):
            continue
        waits = any(
            wanted(case.kitchen, case.threads, task).keys() & {(supply.ingredient, unit) for unit in Unit}
            for task in case.threads.tasks.values()
            if case.state.record(task.id).status is TaskStatus.WAITING
        )
        if waits:
            expected = expected_at(supply, case.kitchen, case.now)
            name = supply.ingredient
            yield DeliveryOverdue(ingredient=name, at=case.now, told=supply.ready, expected_at=expected)


def _stops_begin(case: Case) -> Iterator[Event]:
    """Stops that were told for later and have come. The plan knows of them: no other one is asked for.

    A machine that stands already, for longer or until nobody knows when, stands as it does.
    """
    for later in case.state.by_hand.stops:
        if later.start > case.now:
            continue
        stop = case.state.machines.get(later.equipment)
        if stop is not None and (stop.until is None or stop.until > later.end):
            told = {"at": stop.since, "until": stop.until, "reason": stop.reason, "person": stop.by}
        else:
            told = {"at": later.start, "until": later.end, "reason": later.reason, "person": later.by}
        yield MachineStopped.model_validate({"equipment": later.equipment, **told})
        if later.end <= case.now and (stop is None or (stop.until is not None and stop.until <= case.now)):
            yield MachineReturned(equipment=later.equipment, at=later.end, person=None)


def _still_stopped(case: Case) -> Iterator[StopAssumed]:
    """Machines that were taken to be back by now, and of which nobody has said anything."""
    for machine, stop in case.state.machines.items():
        if stop.until is None and stop.assumed is not None and stop.assumed <= case.now:
            yield StopAssumed(equipment=machine, at=case.now, until=case.now + UNKNOWN_STOP)


def _machines_back(case: Case) -> Iterator[MachineReturned]:
    for machine, stop in case.state.machines.items():
        if stop.until is not None and stop.until <= case.now:
            yield MachineReturned(equipment=machine, at=stop.until, person=None)


def _missed_in_fact(case: Case) -> Iterator[LotHeld]:
    """A safety maximum that has passed: of a stay in hand, or of a task that should have followed."""
    held: set[LotCode] = set()
    for task in case.threads.tasks.values():
        for lot, missed_at, says in _maxima(case, task):
            if lot is None or lot in held or missed_at >= case.now or not _free(case, lot, missed_at):
                continue
            held.add(lot)
            yield LotHeld(lot=lot, at=case.now, reason=says, task=task.id)


def _past_their_days(case: Case) -> Iterator[LotHeld]:
    """Lots whose date mark says that they may not be used any more."""
    for lot in day_marks.lots_here(case.state):
        mark, record = day_marks.over(case.state, lot, case.now), case.state.lots.get(lot)
        if mark is not None and (record is None or record.status is LotStatus.FREE):
            yield LotHeld(lot=lot, at=case.now, reason=day_marks.says(mark))


def _maxima(case: Case, task: PlannedTask) -> Iterator[tuple[LotCode | None, datetime, str]]:
    record = case.state.record(task.id)
    if task.kind is TaskKind.STAY:
        stay = task.stay
        safety = stay is not None and stay.window is WindowClass.SAFETY
        if stay is None or not safety or stay.most is None or record.started_at is None:
            return
        if record.status is TaskStatus.IN_HAND:
            limit = record.started_at + timedelta(minutes=stay.most)
            yield task.lot, limit, f"{task.title}: longer than its safety limit, {case.clock(limit)}"
        return
    if record.status is not TaskStatus.WAITING:
        return
    yield from _lives_over(case, task)
    for link in task.links:
        before, ended = case.threads.tasks.get(link.after), case.state.record(link.after).finished_at
        if link.window is not WindowClass.SAFETY or link.most is None or before is None or ended is None:
            continue
        if before.kind is not TaskKind.STAY:
            limit = ended + timedelta(minutes=link.most)
            yield before.lot or task.lot, limit, f"{task.title} did not follow by its safety limit, {case.clock(limit)}"


def _lives_over(case: Case, task: PlannedTask) -> Iterator[tuple[LotCode | None, datetime, str]]:
    """Lives that ran out before a task that waits: of the mix, once it has been begun, else of what was to go in."""
    for life in task.lives:
        ended = case.state.record(life.after).finished_at if life.after is not None else None
        limit = life.until if ended is None or life.most is None else ended + timedelta(minutes=life.most)
        if limit is not None:
            says = f"{task.title} did not begin within the life of {life.lot}, {case.clock(limit)}"
            yield (task.lot if _begun(case, task.lot) else life.lot), limit, says


def _begun(case: Case, lot: LotCode | None) -> bool:
    """Whether any work on a lot has been begun."""
    mine = (t for t in case.threads.tasks.values() if t.lot == lot and t.kind is TaskKind.WORK)
    return lot is not None and any(case.state.record(t.id).status is not TaskStatus.WAITING for t in mine)


def _free(case: Case, lot: LotCode, missed_at: datetime) -> bool:
    """Not held or gone already, nor released by somebody who knew of the miss."""
    record = case.state.lots.get(lot)
    return record is None or (record.status is LotStatus.FREE and record.since < missed_at)
