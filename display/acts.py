"""Forms become commands: every button of every page ends here. Faults of a form name the field and the remedy."""

from collections.abc import Callable
from typing import Final

from flask import Blueprint, Response, jsonify, make_response, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display.access.signing import hand_in
from display.acts_stock import STOCK_ACTS, left_over
from display.asking import asked
from display.forms import FormFault, Tapped
from display.refused import refused, unanswered
from display.request import Message, back, doors, person_id, say, showing
from display.together import text_together
from display.went_well import went_well
from orchestrator.core.commands import (
    AcknowledgeAlarm,
    AdoptDurations,
    ApplyOffset,
    AskReplan,
    AssignProbe,
    CheckProbe,
    Command,
    ConfirmWashed,
    DecideLot,
    DecidePlan,
    EnterTemperature,
    EnterWeight,
    ExtendTask,
    FinishTask,
    FinishTray,
    HoldInPlace,
    LetMove,
    MachineBack,
    ReportProblem,
    RestoreDurations,
    SendTestCall,
    ShelveAlarm,
    SkipTask,
    StartTask,
    StopMachine,
    Undo,
    UnshelveAlarm,
)
from orchestrator.core.errors import Refusal
from orchestrator.core.handover_commands import HandOver, TakeOver
from orchestrator.core.ids import AlarmId, CalleeId, CrewId, DeviationId, EquipmentId, LotCode, ProbeId, TaskId
from orchestrator.core.lot_commands import AnswerLot, CloseDeviation, LookThrough, PowerCut, TakeAction
from orchestrator.core.models import Measure
from orchestrator.core.models.deviation import ACTS as STANDARD_ACTS
from orchestrator.core.plausible_amounts import UNIT_OF
from orchestrator.core.quantities import Unit
from orchestrator.core.recipe_commands import ComeIn, GoHome

blueprint = Blueprint("acts", __name__)

Build = Callable[[Tapped], Command]


def _start(form: Tapped) -> Command:
    machine = form.text("equipment")
    return StartTask(
        **form.base(),
        task=TaskId(form.need("task")),
        equipment=EquipmentId(machine) if machine else None,
        override_reason=form.text("override_reason"),
        checked=form.every("checked"),
    )


def _finish(form: Tapped) -> Command:
    measured: dict[Measure, float] = {}
    if form.text("measure"):
        measure = Measure(form.choice("measure", [m.value for m in Measure]))
        if measure is Measure.TEMPERATURE_C:
            measured[measure] = form.celsius("measured")
        else:
            unit = UNIT_OF.get(measure)
            if unit is None:  # °Brix: grams of sugar in 100 g
                measured[measure] = form.number("measured", 0, 100, example="28.5")
            elif unit is Unit.EACH:
                measured[measure] = form.number("measured", 0, 100_000, example="52", whole=True)
            else:
                measured[measure] = form.amount("measured", unit)
    return FinishTask(
        **form.base(),
        task=TaskId(form.need("task")),
        measured=measured,
        left=left_over(form),
        override_reason=form.text("override_reason"),
        sure=form.yes("sure"),
    )


def _tray(form: Tapped) -> Command:
    pieces = int(form.number("pieces", 0, 10_000, example="12", whole=True))
    shown = int(form.number("made_before", 0, 100_000, example="24", whole=True)) if form.text("made_before") else None
    return FinishTray(**form.base(), task=TaskId(form.need("task")), pieces=pieces, made_before=shown)


def _extend(form: Tapped) -> Command:
    minutes = int(form.number("minutes", 1, 1440, example="10", whole=True))
    return ExtendTask(**form.base(), task=TaskId(form.need("task")), minutes=minutes)


def _problem(form: Tapped) -> Command:
    return ReportProblem.model_validate(
        {
            **form.base(),
            "task": form.need("task"),
            "what": form.choice("what", ["quality", "temperature", "machine", "ingredient", "other"]),
            "text": form.text("text"),
            "hold_lot": form.yes("hold_lot"),
        }
    )


def _skip(form: Tapped) -> Command:
    return SkipTask(**form.base(), task=TaskId(form.need("task")), reason=form.need("reason"))


def _temperature(form: Tapped) -> Command:
    task, sure = TaskId(form.need("task")), form.yes("sure")
    return EnterTemperature(**form.base(), task=task, celsius=form.celsius("temperature"), sure=sure)


def _weight(form: Tapped) -> Command:
    kilograms = form.amount("weight", Unit.KILOGRAM, most=1000)
    sure = form.yes("sure")
    return EnterWeight(**form.base(), task=TaskId(form.need("task")), kilograms=kilograms, sure=sure)


def _seen(form: Tapped) -> Command:
    return AcknowledgeAlarm(**form.base(), alarm=AlarmId(form.need("alarm")))


def _shelve(form: Tapped) -> Command:
    minutes = int(form.number("minutes", 1, 1440, example="30", whole=True))
    return ShelveAlarm(**form.base(), alarm=AlarmId(form.need("alarm")), minutes=minutes, reason=form.need("reason"))


def _unshelve(form: Tapped) -> Command:
    return UnshelveAlarm(**form.base(), alarm=AlarmId(form.need("alarm")))


def _undo(form: Tapped) -> Command:
    return Undo(**form.base(), act=int(form.number("act", 0, 10**12, example="1", whole=True)))


def _stop(form: Tapped) -> Command:
    return StopMachine(
        **form.base(),
        equipment=EquipmentId(form.need("equipment")),
        until=form.instant("until"),
        reason=form.text("reason"),
    )


def _machine_back(form: Tapped) -> Command:
    return MachineBack(**form.base(), equipment=EquipmentId(form.need("equipment")))


def _lot(form: Tapped) -> Command:
    decision = form.choice("decision", ["release", "rework", "discard"])
    return DecideLot.model_validate(
        {
            **form.base(),
            "lot": LotCode(form.need("lot")),
            "decision": decision,
            "reason": form.need("reason"),
            "by_code": form.text("by_code"),
        }
    )


def _answer_lot(form: Tapped) -> Command:
    answers = ["moved", "kept", "on hold", "discarded"]
    to = form.text("to")
    return AnswerLot.model_validate(
        {
            **form.base(),
            "lot": form.need("lot"),
            "equipment": form.need("equipment"),
            "answer": form.choice("answer", answers),
            "to": to or None,
            "reason": form.text("reason"),
        }
    )


def _action(form: Tapped) -> Command:
    told = {**form.base(), "deviation": form.need("deviation"), "act": form.choice("taken", list(STANDARD_ACTS))}
    return TakeAction.model_validate({**told, "text": form.text("text"), "lot": form.text("lot") or None})


def _close(form: Tapped) -> Command:
    return CloseDeviation(**form.base(), deviation=DeviationId(form.need("deviation")), note=form.text("note"))


def _look_through(form: Tapped) -> Command:
    upto = int(form.number("upto", 0, 10**12, example="1", whole=True))
    return LookThrough(**form.base(), lot=LotCode(form.need("lot")), upto=upto, note=form.text("note"))


def _power(form: Tapped) -> Command:
    return PowerCut(**form.base(), over=form.yes_or_no("over"))


def _plan(form: Tapped) -> Command:
    proposal = int(form.number("proposal", 0, 10**12, example="1", whole=True))
    return DecidePlan(**form.base(), proposal=proposal, adopt=form.yes_or_no("adopt"))


def _hold(form: Tapped) -> Command:
    return HoldInPlace(**form.base(), task=TaskId(form.need("task")))


def _free(form: Tapped) -> Command:
    return LetMove(**form.base(), task=TaskId(form.need("task")))


def _test_call(form: Tapped) -> Command:
    return SendTestCall(**form.base(), to=CalleeId(form.need("callee")))


def _replan(form: Tapped) -> Command:
    return AskReplan(**form.base(), reason=form.text("reason"))


MOST_MIN: Final = 7 * 1440
"""A step of work takes no longer than a week."""


def _durations(form: Tapped) -> Command:
    which = {**form.base(), "recipe": form.need("recipe"), "step": form.need("step")}
    if form.choice("adopt", ["yes", "no"]) == "no":
        return RestoreDurations.model_validate(which)
    names = ("shortest", "usual", "longest")
    figures = {name: int(form.number(name, 0, MOST_MIN, example="30", whole=True)) for name in names}
    if not figures["shortest"] <= figures["usual"] <= figures["longest"]:
        raise form.fault("range", "usual", least=figures["shortest"], most=figures["longest"])
    return AdoptDurations.model_validate({**which, "figures": figures})


def _check_probe(form: Tapped) -> Command:
    point = form.choice("point", ["ice", "boiling", "reference"])
    reference = form.celsius("reference") if point == "reference" else None
    return CheckProbe.model_validate(
        {
            **form.base(),
            "probe": form.need("probe"),
            "point": point,
            "shown_c": form.celsius("shown"),
            "reference_c": reference,
        }
    )


def _offset(form: Tapped) -> Command:
    offset = form.number("offset", -20, 20, example="-0.4")
    return ApplyOffset(**form.base(), probe=ProbeId(form.need("probe")), offset_c=offset)


def _assign_probe(form: Tapped) -> Command:
    what, _, name = form.need("where").partition(":")
    if what not in ("task", "equipment") or not name:
        raise form.fault("choice", "where", choices="a step, a machine or a store")
    reads = form.choice("reads", ["core", "air"]) if form.text("reads") else None
    return AssignProbe.model_validate({**form.base(), "probe": form.need("probe"), what: name, "reads": reads})


def _washed(form: Tapped) -> Command:
    return ConfirmWashed(**form.base(), probe=ProbeId(form.need("probe")))


def _hand_over(form: Tapped) -> Command:
    return HandOver(**form.base(), text=form.long_text("handover_text", 2000))


def _take_over(form: Tapped) -> Command:
    return TakeOver(**form.base(), handover=int(form.number("handover", 0, 10**12, example="1", whole=True)))


def _come_in(form: Tapped) -> Command:
    return ComeIn(**form.base())


def _go_home(form: Tapped) -> Command:
    return GoHome(**form.base())


ACTS: Final[dict[str, Build]] = {
    "start": _start,
    "finish": _finish,
    "tray": _tray,
    "extend": _extend,
    "problem": _problem,
    "skip": _skip,
    "temperature": _temperature,
    "weight": _weight,
    "seen": _seen,
    "shelve": _shelve,
    "unshelve": _unshelve,
    "undo": _undo,
    "stop": _stop,
    "machine_back": _machine_back,
    "lot": _lot,
    "answer_lot": _answer_lot,
    "action": _action,
    "close": _close,
    "look_through": _look_through,
    "power": _power,
    "plan": _plan,
    "hold": _hold,
    "free": _free,
    "replan": _replan,
    "test_call": _test_call,
    "durations": _durations,
    "check_probe": _check_probe,
    "offset": _offset,
    "assign_probe": _assign_probe,
    "washed": _washed,
    **STOCK_ACTS,
    "hand_over": _hand_over,
    "take_over": _take_over,
    "come_in": _come_in,
    "go_home": _go_home,
}


@blueprint.post("/acts/<name>")
def act(name: str) -> WerkzeugResponse:
    """Carry out what a form asks; back to its page with the outcome, or the outcome as JSON for scripts."""
    w = showing().words
    build = ACTS.get(name)
    if build is None:
        return _answer(Message("refused", w("form_unknown_act", text=name), w("form_unknown_act_remedy")), 404)
    try:
        command = build(Tapped(request.form, showing(), _who_tapped()))
    except FormFault as fault:
        return _answer(Message("refused", fault.says, fault.remedy), 400)
    try:
        outcome = hand_in(doors()[0], command)
    except TimeoutError:
        return _answer(unanswered(), 504)
    if isinstance(outcome, Refusal):
        return _answer(asked(name, outcome, refused(outcome), showing()), 409)
    return _answer(went_well(name), 200)


def _who_tapped() -> CrewId | None:
    """Who was at the screen when it was tapped: what waited for its link is not done by whoever is there by now."""
    then = request.form.get("tapped_by", "")
    crew = {str(member.id): member.id for member in showing().kitchen.crew} if then else {}
    return crew.get(then, person_id())


def _on_one_line(message: Message) -> Message:
    """The same with no number parted from its unit; a page does it for all of it, a script shows this as it comes."""
    asks = tuple({**one, "label": text_together(one["label"])} for one in message.asks)
    return message._replace(says=text_together(message.says), remedy=text_together(message.remedy), asks=asks)


def _answer(message: Message, status: int) -> WerkzeugResponse:
    message = _on_one_line(message)
    if request.accept_mimetypes.best_match(["text/html", "application/json"]) == "application/json":
        body: Response = jsonify(outcome=message.tone, says=message.says, remedy=message.remedy, more=message.more)
        if message.asks:
            body = jsonify({**message._asdict(), "outcome": message.tone})
        return make_response(body, status)
    say(message)
    return redirect(back(), 303)
