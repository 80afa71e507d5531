"""Somebody signs that they looked a batch's record through: a statement about the record, none about the food."""

from orchestrator.core.decide.case import Case, Decision, named
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CrewId, LotCode
from orchestrator.core.lot_commands import LookThrough
from orchestrator.core.lot_events import RecordLookedThrough


def look_through(case: Case, command: LookThrough) -> Decision | Refusal:
    """A manager, where the kitchen has one, signs by name; again as often as they like, as after the record changed."""
    refusal = _no_record(case, command.lot)
    if refusal is not None:
        return refusal
    who = named(case, command.lot, "to have looked it through")
    if isinstance(who, Refusal):
        return who
    upto = case.state.seq if command.upto is None else command.upto
    refusal = _may(case, command.lot, who) or _not_there_yet(case, command.lot, upto)
    if refusal is not None:
        return refusal
    note = command.note.strip()
    return Decision((RecordLookedThrough(lot=command.lot, at=case.at, person=who, upto=upto, note=note),))


def _no_record(case: Case, lot: LotCode) -> Refusal | None:
    former = case.state.past
    decided, on_hand = lot in case.state.lots, lot in case.known.stock or lot in former.stock
    planned = lot in former.batches or (case.plan is not None and lot in case.threads.batches)
    if not (planned or on_hand or decided):
        return Refusal(code=RefusalCode.UNKNOWN, thing=lot, status="no such lot", remedy="a lot of the present plan")
    begun = any(task.split(".")[0] == lot for task in case.state.tasks)
    if begun or on_hand or decided:
        return None
    status = "nothing is on its record yet"
    return Refusal(code=RefusalCode.WRONG_STATE, thing=lot, status=status, remedy="look it through once it is begun")


def _may(case: Case, lot: LotCode, who: CrewId) -> Refusal | None:
    managers = [member.name for member in case.kitchen.crew if member.manager]
    if not managers or case.known.crew[who].manager:
        return None
    status = f"{case.known.crew[who].name} may read it, not sign that it was looked through"
    return Refusal(code=RefusalCode.NOT_ALLOWED, thing=lot, status=status, remedy=f"ask {' or '.join(managers)}")


def _not_there_yet(case: Case, lot: LotCode, upto: int) -> Refusal | None:
    if upto <= case.state.seq:
        return None
    status = f"event {upto} is not on record yet: the last one is {case.state.seq}"
    return Refusal(code=RefusalCode.BAD_VALUE, thing=lot, status=status, remedy="load the page again")
