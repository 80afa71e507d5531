"""Food in doubt goes nowhere: neither into a step, nor to a customer."""

from datetime import datetime

from orchestrator.core.alarms.look import look
from orchestrator.core.alarms.past_dates import dated_lot
from orchestrator.core.by_products import open_lots
from orchestrator.core.day_marks import over, says
from orchestrator.core.decide.case import Case
from orchestrator.core.deviations.standing import asked_about, usable_lots
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import LotCode
from orchestrator.core.lot_trace import lots_into, thawed_for
from orchestrator.core.models import PlannedTask, Process, TaskKind
from orchestrator.core.pantry import LEAST
from orchestrator.core.state import LotStatus
from orchestrator.core.wanted import wanted


def lots_usable(case: Case, task: PlannedTask) -> Refusal | None:
    """Neither its own lot nor one that it takes from is on hold, gone, or in a place that failed and still asked
    about. What it takes out of a freezer counts today, so it may be past its days by that."""
    if task.kind is TaskKind.CLEAN:
        return None
    before = (case.threads.tasks.get(link.after) for link in task.links)
    lots = dict.fromkeys(b.lot for b in before if b is not None and b.lot is not None)
    for lot in dict.fromkeys((*lots_into(case.state, task), *lots)):
        refusal = _in_doubt(case, task, lot, case.now if task.lot != lot else None)
        if refusal is not None:
            return refusal
    return _ingredient_in_doubt(case, task)


def _ingredient_in_doubt(case: Case, task: PlannedTask) -> Refusal | None:
    """What it takes is there only in lots that stood in a place that failed and that are still asked about."""
    for (ingredient, unit), amount in wanted(case.kitchen, case.threads, task).items():
        free = {lot.id for lot in usable_lots(case.state, ingredient, case.now, unit)}
        if sum(case.state.pantry.left(lot) for lot in free) >= amount - LEAST:
            continue
        for lot in open_lots(case.state, ingredient, case.now, unit):
            if lot.id not in free:
                return _in_doubt(case, task, LotCode(lot.id))
    return None


def served_in_doubt(case: Case, task: PlannedTask) -> Refusal | None:
    """Nothing in doubt is handed over, not even when the handing over had begun."""
    if task.process is not Process.HAND_OVER:
        return None
    out = thawed_for(case.state, task)
    for lot in lots_into(case.state, task):
        refusal = _in_doubt(case, task, lot, out.get(lot))
        if refusal is not None:
            return refusal
    return None


def _in_doubt(case: Case, task: PlannedTask, lot: LotCode, out_at: datetime | None = None) -> Refusal | None:
    record = case.state.lots.get(lot)
    if record is not None and record.status is not LotStatus.FREE:
        held = record.status is LotStatus.ON_HOLD
        remedy = "decide about the lot first" if held else "wait for the new plan: it will be made again"
        status = f"lot {lot} is {record.status.value}: {record.reason}"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status=status, remedy=remedy)
    mark = over(case.state, lot, case.now, out_at=out_at)
    if mark is not None:
        remedy = f"discard lot {lot}, or decide about it by your local code"
        return Refusal(code=RefusalCode.NOT_ALLOWED, thing=task.id, status=f"lot {lot} is {says(mark)}", remedy=remedy)
    refusal = _past_use_by(case, task, lot)
    place = asked_about(case.state, lot) if refusal is None else None
    if place is None:
        return refusal
    status = f"lot {lot} is asked about: {place.facts.reason}"
    remedy = f"say first what becomes of lot {lot}: moved, kept, on hold or discarded"
    return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status=status, remedy=remedy)


def _past_use_by(case: Case, task: PlannedTask, lot: LotCode) -> Refusal | None:
    """What is left of a finished lot is neither used nor served past its use-by."""
    seen = look(case.state, case.facts, case.now, advise=False)
    dates = dated_lot(seen, lot) if seen is not None and task.lot != lot else None
    if dates is None or dates.use_by is None or not dates.past_use_by(case.now):
        return None
    status = f"lot {lot} was to be used by {case.clock(dates.use_by)}"
    return Refusal(code=RefusalCode.NOT_ALLOWED, thing=task.id, status=status, remedy=f"discard lot {lot}")
