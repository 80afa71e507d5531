"""What becomes of a lot on hold."""

from orchestrator.core.alarms.look import look
from orchestrator.core.alarms.past_dates import Dated, dated_lot
from orchestrator.core.commands import DecideLot
from orchestrator.core.decide.case import Case, Decision, named, with_replan
from orchestrator.core.deviations import of_lot
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CrewId, LotCode, SupplyLotId
from orchestrator.core.lot_events import LotDecided
from orchestrator.core.models.deviation import Deviation
from orchestrator.core.state import LotStatus


def decide_lot(case: Case, command: DecideLot) -> Decision | Refusal:
    """Release, rework or discard a lot on hold, or one past its date; a named person who may decides, with a reason.

    Anybody may throw food away. To use it again is for a manager, where the kitchen has one; and where a safety limit
    was broken, for somebody who can name the code that allows it, after a second person has looked.
    """
    batches = case.threads.batches if case.plan is not None else {}
    record = case.state.lots.get(command.lot)
    left = case.state.pantry.lots.get(SupplyLotId(command.lot))
    own = command.lot in batches or command.lot in case.known.stock or left is not None
    if record is None and not own:
        return Refusal(
            code=RefusalCode.UNKNOWN, thing=command.lot, status="no such lot", remedy="a lot of the present plan"
        )
    who = named(case, command.lot, "to decide")
    if isinstance(who, Refusal):
        return who
    free = record is None or record.status is LotStatus.FREE
    refusal = _past_use_by(case, command)
    refusal = refusal or (_as_it_is(case, command) if free else _wrong_state(case, command.lot))
    refusal = refusal or _may(case, command, who) or _safe_release(case, command, who)
    if refusal is not None:
        return refusal
    event = LotDecided(
        lot=command.lot,
        at=case.at,
        decision=command.decision,
        reason=command.reason,
        person=who,
        second=second_look(case, command.lot, who) if command.decision == "release" else None,
        by_code=command.by_code,
    )
    kept = free and command.decision == "release"
    return with_replan(case, (event,), "" if kept else f"lot {command.lot}: {command.decision}")


def _dates(case: Case, lot: LotCode) -> Dated | None:
    seen = look(case.state, case.facts, case.now, advise=False)
    return dated_lot(seen, lot) if seen is not None else None


def _past_use_by(case: Case, command: DecideLot) -> Refusal | None:
    """On hold or not, what is past its use-by is thrown away and nothing else: a hold is no way round it.

    But for what a deviation of a safety limit tells of: there `_safe_release` asks for the code that allows it.
    """
    if command.decision == "discard" or safety_open(case, command.lot):
        return None
    dates = _dates(case, command.lot)
    if dates is None or not dates.past_use_by(case.now):
        return None
    return Refusal(code=RefusalCode.NOT_ALLOWED, thing=command.lot, status="past its use-by", remedy="discard it")


def _as_it_is(case: Case, command: DecideLot) -> Refusal | None:
    """What a step has left over is thrown away as it is, and what is past a date; past a best-before it may be kept.

    Any other lot that is free is put on hold first, so that it is on record what was wrong with it.
    """
    left = case.state.pantry.lots.get(SupplyLotId(command.lot))
    if command.decision == "discard" and left is not None and left.made_from is not None:
        return None
    dates = _dates(case, command.lot)
    past = dates is not None and (dates.past_use_by(case.now) or dates.past_best_before(case.now))
    if past and command.decision in ("discard", "release"):
        return None
    return _on_hold_first(command.lot, LotStatus.FREE)


def _wrong_state(case: Case, lot: LotCode) -> Refusal | None:
    record = case.state.lots[lot]
    return None if record.status is LotStatus.ON_HOLD else _on_hold_first(lot, record.status)


def _on_hold_first(lot: LotCode, status: LotStatus) -> Refusal:
    remedy = "put it on hold first, by reporting a problem"
    return Refusal(code=RefusalCode.WRONG_STATE, thing=lot, status=status.value, remedy=remedy)


def _may(case: Case, command: DecideLot, who: CrewId) -> Refusal | None:
    managers = [member.name for member in case.kitchen.crew if member.manager]
    if command.decision == "discard" or not managers or case.known.crew[who].manager:
        return None
    name = case.known.crew[who].name
    status = f"{name} may discard it, not {command.decision} it"
    remedy = f"keep it on hold and ask {' or '.join(managers)}"
    return Refusal(code=RefusalCode.NOT_ALLOWED, thing=command.lot, status=status, remedy=remedy)


def _safe_release(case: Case, command: DecideLot, who: CrewId) -> Refusal | None:
    """Where a safety limit was broken a release asks for more."""
    if command.decision != "release" or not safety_open(case, command.lot):
        return None
    if not command.by_code.strip():
        status = "a safety limit was broken, and nothing says what allows its release"
        remedy = "name the local code, or whose licensed practice, that allows it; else rework or discard it"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=command.lot, status=status, remedy=remedy)
    able = _able(case, command.lot, who)
    if able and second_look(case, command.lot, who) is None:
        names = " or ".join(case.known.crew[other].name for other in able)
        status = "a safety limit was broken, and nobody else has looked"
        remedy = f"let {names} look at it first and put that on the deviation as a second look"
        return Refusal(code=RefusalCode.NOT_ALLOWED, thing=command.lot, status=status, remedy=remedy)
    return None


def safety_open(case: Case, lot: LotCode) -> tuple[Deviation, ...]:
    """The open deviations of a lot in which a safety limit was broken, or may have been."""
    return tuple(d for d in of_lot(case.state, lot) if d.open and d.facts.safety and d.disposition(lot) is None)


def makers(case: Case, lot: LotCode) -> frozenset[CrewId]:
    """Who has worked on a lot."""
    records = (record for task, record in case.state.tasks.items() if task.split(".")[0] == lot)
    return frozenset(who for r in records for who in (r.started_by, r.finished_by) if who is not None)


def _able(case: Case, lot: LotCode, who: CrewId) -> tuple[CrewId, ...]:
    """Who can take a second look: neither who decides nor who made it; in a crew too small for that, anybody else."""
    others = tuple(other for other in case.known.crew if other != who)
    made = makers(case, lot)
    return tuple(other for other in others if other not in made) or others


def second_look(case: Case, lot: LotCode, who: CrewId) -> CrewId | None:
    """Who else has looked at a lot, since it was last in doubt."""
    able = _able(case, lot, who)
    for deviation in safety_open(case, lot):
        for action in reversed(deviation.actions):
            if action.act == "second look" and action.lot in (None, lot) and action.person in able:
                return action.person
    return None
