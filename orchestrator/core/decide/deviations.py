"""Corrective actions, and the end of a deviation."""

from orchestrator.core.decide.case import Case, Decision, named
from orchestrator.core.decide.lots import makers
from orchestrator.core.deviations import undecided
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CrewId
from orchestrator.core.lot_commands import CloseDeviation, TakeAction
from orchestrator.core.lot_events import ActionTaken, DeviationClosed
from orchestrator.core.models.deviation import Action, Deviation


def on_deviation(case: Case, command: TakeAction | CloseDeviation) -> Decision | Refusal:
    """Put a corrective action on record, or close a deviation; a named person does either."""
    deviation = case.state.deviations.get(command.deviation)
    if deviation is None:
        known = ", ".join(case.state.deviations) or "none yet"
        remedy = f"one of those on record: {known}"
        return Refusal(code=RefusalCode.UNKNOWN, thing=command.deviation, status="no such deviation", remedy=remedy)
    who = named(case, deviation.id, "to act on it")
    if isinstance(who, Refusal):
        return who
    if not deviation.open:
        status = "taken back" if deviation.withdrawn else "closed"
        remedy = "report a new problem, if there is one"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=deviation.id, status=status, remedy=remedy)
    if isinstance(command, TakeAction):
        return _action(case, command, deviation, who)
    return _close(case, command, deviation, who)


def _action(case: Case, command: TakeAction, deviation: Deviation, who: CrewId) -> Decision | Refusal:
    if command.lot is not None and command.lot not in deviation.lots:
        status = f"lot {command.lot} is not in it"
        remedy = f"one of {', '.join(deviation.lots)}, or all of them"
        return Refusal(code=RefusalCode.UNKNOWN, thing=deviation.id, status=status, remedy=remedy)
    if command.act in ("other", "second look") and not command.text.strip():
        what = "was done" if command.act == "other" else "was looked at and found"
        return Refusal(
            code=RefusalCode.BAD_VALUE, thing=deviation.id, status="there are no words", remedy=f"say what {what}"
        )
    refusal = _made_it(case, command, deviation, who) if command.act == "second look" else None
    if refusal is not None:
        return refusal
    action = Action(at=case.at, person=who, act=command.act, text=command.text.strip(), lot=command.lot)
    return Decision((ActionTaken(deviation=deviation.id, action=action),))


def _made_it(case: Case, command: TakeAction, deviation: Deviation, who: CrewId) -> Refusal | None:
    """Who worked on a lot does not look at it a second time, where two others could: a look and a decision."""
    for lot in deviation.lots if command.lot is None else (command.lot,):
        made = makers(case, lot)
        others = [member.name for member in case.known.crew.values() if member.id not in made]
        if who in made and len(others) > 1:
            status = f"{case.known.crew[who].name} worked on {lot}: their second look at it would not count"
            remedy = f"let {' or '.join(others)} look at it; what you measured goes on record as measured by hand"
            return Refusal(code=RefusalCode.NOT_ALLOWED, thing=deviation.id, status=status, remedy=remedy)
    return None


def _close(case: Case, command: CloseDeviation, deviation: Deviation, who: CrewId) -> Decision | Refusal:
    left = undecided(case.state, deviation)
    if left:
        status = f"nobody has decided about {', '.join(left)}"
        return Refusal(
            code=RefusalCode.WRONG_STATE, thing=deviation.id, status=status, remedy="decide about each first"
        )
    if deviation.facts.asked and deviation.until is None:
        status = f"it goes on: {deviation.facts.reason}"
        remedy = "close it when the place is as it should be again"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=deviation.id, status=status, remedy=remedy)
    if not any(action.act != "second look" for action in deviation.actions):
        status = "no corrective action is on record"
        remedy = "say first what was done so that it does not happen again"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=deviation.id, status=status, remedy=remedy)
    closed = DeviationClosed(deviation=deviation.id, at=case.at, person=who, note=command.note)
    return Decision((closed,))
