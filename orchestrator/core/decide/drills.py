"""Recall drills: what would have to be found by the books, what was found, how long it took."""

from orchestrator.core.decide.case import Case, Decision, named
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import DrillId
from orchestrator.core.models.stock import Drill, DrillFind
from orchestrator.core.recall import gone_of, items_of, lot_name
from orchestrator.core.stock_commands import EndDrill, MarkDrill, StartDrill
from orchestrator.core.stock_events import DrillEnded, DrillMarked, DrillStarted


def start(case: Case, command: StartDrill) -> Decision | Refusal:
    """Begin one; what is to be found is fixed by the books of this instant."""
    who = named(case, command.lot, "who leads the drill")
    if isinstance(who, Refusal):
        return who
    running = next((d for d in case.state.drills.values() if d.ended_at is None), None)
    if running is not None:
        remedy = f"end {running.id} first"
        status = f"{running.id} on {running.lot} is running"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=command.lot, status=status, remedy=remedy)
    items = items_of(case.state, command.lot)
    if items is None:
        return Refusal(
            code=RefusalCode.UNKNOWN, thing=command.lot, status="no such lot", remedy="a lot on the page of lots"
        )
    event = DrillStarted(
        drill=DrillId(f"DRILL-{len(case.state.drills) + 1}"),
        lot=command.lot,
        name=lot_name(case.state, command.lot),
        at=case.at,
        person=who,
        items=items,
        gone=gone_of(case.state, command.lot),
    )
    return Decision((event,))


def mark(case: Case, command: MarkDrill) -> Decision | Refusal:
    """One is found, or not there."""
    drill, who = _running(case, command.drill), named(case, command.drill, "who found it")
    if isinstance(drill, Refusal):
        return drill
    if isinstance(who, Refusal):
        return who
    if all(item.id != command.item for item in drill.items):
        remedy = f"one of {', '.join(item.id for item in drill.items)}"
        status = f"{command.item} is not on its list"
        return Refusal(code=RefusalCode.UNKNOWN, thing=command.drill, status=status, remedy=remedy)
    find = DrillFind(item=command.item, at=case.at, person=who, found=command.found, note=command.note)
    return Decision((DrillMarked(drill=drill.id, find=find),))


def end(case: Case, command: EndDrill) -> Decision | Refusal:
    """It is over: the time and the share go on record."""
    drill, who = _running(case, command.drill), named(case, command.drill, "who ends it")
    if isinstance(drill, Refusal):
        return drill
    if isinstance(who, Refusal):
        return who
    minutes = max(0.0, (case.at - drill.started_at).total_seconds() / 60.0)
    event = DrillEnded(
        drill=drill.id, at=case.at, person=who, minutes=minutes, accounted=drill.accounted, note=command.note
    )
    return Decision((event,))


def _running(case: Case, drill: DrillId) -> Drill | Refusal:
    known = case.state.drills.get(drill)
    if known is None:
        return Refusal(code=RefusalCode.UNKNOWN, thing=drill, status="no such drill", remedy="start one on a lot")
    if known.ended_at is not None:
        return Refusal(code=RefusalCode.WRONG_STATE, thing=drill, status="it is over", remedy="start another")
    return known
