"""One decision about each lot in a place that failed: moved, kept and watched, on hold, discarded."""

from typing import Final

from orchestrator.core.decide.case import Case, Decision, named, with_replan
from orchestrator.core.deviations.places import core_now, inside, on_hand, still_good_c
from orchestrator.core.deviations.rooms import rooms
from orchestrator.core.deviations.standing import gone, held, places_failed
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Event
from orchestrator.core.ids import CrewId, EquipmentId
from orchestrator.core.lot_commands import AnswerLot
from orchestrator.core.lot_events import LotAnswered, LotDecided, LotHeld
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.models.deviation import Answer, Deviation
from orchestrator.core.plausible import asked_about, doubt_in_place
from orchestrator.core.stock_commands import MeasureIngredient
from orchestrator.core.stock_events import IngredientMeasured

_EPSILON: Final = 1e-6


def answer_lot(case: Case, command: AnswerLot) -> Decision | Refusal:
    """Put the decision about one lot on record, move it, hold it or discard it; the planner is told."""
    who = named(case, command.lot, "to decide")
    if isinstance(who, Refusal):
        return who
    found = [d for d in places_failed(case.state, command.equipment) if command.lot in d.lots]
    if not found:
        status = f"nobody asks about it at {command.equipment}"
        remedy = "a lot in a place that failed; about others, report a problem"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=command.lot, status=status, remedy=remedy)
    if gone(case.state, command.lot):
        status = case.state.lots[command.lot].status.value
        return Refusal(code=RefusalCode.WRONG_STATE, thing=command.lot, status=status, remedy="nothing: it is decided")
    here = {t.lot: t for t in inside(case.state).get(command.equipment, ()) if t.lot is not None}
    task = here.get(command.lot)
    refusal = _answerable(case, command, found, task)
    if refusal is not None:
        return refusal
    return _put_down(case, command, who, task)


def _answerable(case: Case, command: AnswerLot, found: list[Deviation], task: PlannedTask | None) -> Refusal | None:
    if command.answer in ("on hold", "discarded"):
        return _has_reason(command)
    if held(case.state, command.lot):
        status = f"on hold: {case.state.lots[command.lot].reason}"
        remedy = "release, rework or discard it on the page of lots"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=command.lot, status=status, remedy=remedy)
    return _still_good(case, command, found, task) or (
        _room(case, command, task) if command.answer == "moved" else None
    )


def measure(case: Case, command: MeasureIngredient) -> Decision | Refusal:
    """A reading by hand in an ingredient on hand, put on record; one that another unit explains is asked about."""
    who = named(case, command.lot, "to measure it")
    if isinstance(who, Refusal):
        return who
    lot = case.state.pantry.lots.get(command.lot)
    if lot is None:
        remedy = "the code of a delivery, or of a left-over; in a batch, measure at its step"
        return Refusal(code=RefusalCode.UNKNOWN, thing=command.lot, status="no such lot on hand", remedy=remedy)
    place = case.known.equipment.get(lot.place) if lot.place is not None else None
    doubt = None if command.sure or place is None else doubt_in_place(case.kitchen, place, command.celsius)
    if doubt is not None:
        return asked_about(doubt, command.lot)
    return Decision((IngredientMeasured(lot=lot.id, at=case.at, person=who, celsius=command.celsius),))


def _stands_here(case: Case, command: AnswerLot) -> bool:
    """Whether it is an ingredient, or a left-over, on hand in the place."""
    return any(str(lot.id) == command.lot for lot in on_hand(case.state, command.equipment))


def _has_reason(command: AnswerLot) -> Refusal | None:
    if command.answer != "discarded" or command.reason.strip():
        return None
    return Refusal(code=RefusalCode.BAD_VALUE, thing=command.lot, status="there is no reason", remedy="say why")


def _still_good(case: Case, command: AnswerLot, found: list[Deviation], task: PlannedTask | None) -> Refusal | None:
    """Food that may have softened or warmed is neither kept nor moved to another cold place before it was measured."""
    place = case.known.equipment[command.equipment]
    good = still_good_c(case.kitchen, place)
    if good is None or (task is None and not _stands_here(case, command)):
        return None
    for deviation in found:
        in_work = task is not None and task.kind is not TaskKind.STAY
        core = core_now(case.state, deviation, command.lot, case.facts, case.now, in_work=in_work)
        if core is not None and core <= good + _EPSILON:
            continue
        says = f"may have warmed to {core:.1f} °C" if core is not None else "nobody knows how warm it became"
        remedy = f"measure its middle by hand: at most {good:g} °C; else put it on hold or discard it"
        status = f"{says}, by {deviation.facts.reason}"
        return Refusal(code=RefusalCode.GATE_SHUT, thing=command.lot, status=status, remedy=remedy)
    return None


def _room(case: Case, command: AnswerLot, task: PlannedTask | None) -> Refusal | None:
    if task is None and not _stands_here(case, command):
        status = f"it is not in {command.equipment}"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=command.lot, status=status, remedy="keep it where it is")
    choices = rooms(case.state, case.facts, case.now, command.equipment, command.lot)
    to = case.known.equipment.get(command.to) if command.to is not None else None
    if to is not None and to in choices:
        return None
    names = ", ".join(place.id for place in choices)
    status = f"{command.to or 'no place'} cannot take it: it must be as cold, work, and have room"
    remedy = f"one of {names}" if names else "there is no such place: keep it, put it on hold or discard it"
    return Refusal(code=RefusalCode.BAD_VALUE, thing=command.lot, status=status, remedy=remedy)


def _put_down(case: Case, command: AnswerLot, who: CrewId, task: PlannedTask | None) -> Decision:
    to: EquipmentId | None = command.to if command.answer == "moved" else None
    answer = Answer(
        lot=command.lot, at=case.at, person=who, answer=command.answer, to=to, reason=command.reason.strip()
    )
    events: list[Event] = [LotAnswered(equipment=command.equipment, answer=answer)]
    reason = ""
    if command.answer == "moved":
        reason = f"lot {command.lot} was moved to {to}"
    elif command.answer == "on hold" and not held(case.state, command.lot):
        typed = command.reason.strip()
        why = f"put on hold: {typed}" if typed else next(places_failed(case.state, command.equipment)).facts.reason
        events.append(LotHeld(lot=command.lot, at=case.at, reason=why, task=task.id if task is not None else None))
        reason = f"lot {command.lot} went on hold"
    elif command.answer == "discarded":
        gone_for = {"lot": command.lot, "at": case.at, "decision": "discard", "person": who}
        events.append(LotDecided.model_validate({**gone_for, "reason": command.reason.strip()}))
        reason = f"lot {command.lot}: discard"
    return with_replan(case, tuple(events), reason)
