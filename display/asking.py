"""A question back to whoever typed a value: the answers are buttons that send the form again."""

import re
from collections.abc import Mapping
from typing import Any, Final

from flask import request

from display.access.signing import CODE_FIELD, SIGN_OFF
from display.panels import Showing
from display.request import Message
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.models import Measure
from orchestrator.core.plausible_amounts import UNIT_OF
from orchestrator.core.quantities import Unit
from orchestrator.core.typed_amounts import US_UNIT

_NUMBER: Final = re.compile(r"-?[0-9]*[.,]?[0-9]+")
_TYPED: Final[Mapping[str, str]] = {
    "temperature": "temperature",
    "measure_ingredient": "temperature",
    "receive": "temperature",
    "count": "counted",
    "finish": "measured",
    "weight": "weight",
}
"""By act, the field in which the value was typed."""
_SIGNS: Final[Mapping[str, tuple[str, str]]] = {
    "weight_kg": ("kg", "g"),
    "volume_l": ("L", "mL"),
    "count": ("", ""),
    "brix": ("°Bx", ""),
}
"""By measure, its unit and the other one that a slip may have meant."""


def asked(name: str, refusal: Refusal, message: Message, showing: Showing) -> Message:
    """The same message with answers, where the refusal is a question about what was typed."""
    if refusal.thing == SIGN_OFF:
        return _asked_code(message, showing)
    field = refusal.field or _TYPED.get(name, "")
    if refusal.code is not RefusalCode.DOUBTFUL or not field:
        return message
    sure = "sure_of_amount" if field == "quantity" else "sure"
    counted = _counted(name, field)
    typed = request.form.get(field, "").strip().replace("\u2212", "-")
    if counted is not None and counted in US_UNIT:
        bare, us = _NUMBER.fullmatch(typed) is not None, request.form.get("typed_in") == "us"
        if us or not bare:
            told = f"{typed} {US_UNIT[counted]}" if bare else typed
            answers_us = _answers_with_units((field, sure), told, counted, refusal, showing)
            return message._replace(says=showing.words("ask_says", status=refusal.status), more="", asks=answers_us)
    try:
        value = float(typed.replace(",", "."))
    except ValueError:
        return message
    w, (unit, other) = showing.words, _units(name, field, showing)
    kept = _kept(sure)
    answers: list[dict[str, Any]] = []
    if refusal.meant is not None:
        meant = f"{refusal.meant:.1f}" if unit.startswith("°") else f"{refusal.meant:g}"
        label = w("ask_other", typed=f"{value:g}", other=other, meant=meant, unit=unit)
        answers.append({"label": label, "action": request.path, "fields": {**kept, field: meant, sure: "yes"}})
    label = w("ask_sure", typed=f"{value:g}", unit=unit)
    answers.append({"label": label.strip(), "action": request.path, "fields": {**kept, sure: "yes"}})
    says = w("ask_says", status=refusal.status)
    return message._replace(says=says, more="", asks=tuple(answers))


def _counted(name: str, field: str) -> Unit | None:
    """In which unit amounts are counted that were typed there; none for a temperature or °Brix."""
    if name == "weight":
        return Unit.KILOGRAM
    if name == "count" or field == "quantity":
        return next((unit for unit in US_UNIT if unit.value == request.form.get("unit")), None)
    measure = request.form.get("measure", "")
    return UNIT_OF.get(Measure(measure)) if name == "finish" and measure in [one.value for one in Measure] else None


def _answers_with_units(
    fields: tuple[str, str], told: str, counted: Unit, refusal: Refusal, showing: Showing
) -> tuple[dict[str, Any], ...]:
    """The answers about an amount with its units: as it was typed, and what may have been meant."""
    (field, sure), w = fields, showing.words
    kept = _kept(sure)
    answers: list[dict[str, Any]] = []
    if refusal.meant is not None:
        label = w("ask_meant", meant=showing.formats.amount_of(refusal.meant, counted))
        sent = {**kept, field: f"{refusal.meant:g} {counted}", sure: "yes"}
        answers.append({"label": label, "action": request.path, "fields": sent})
    label = w("ask_sure", typed=told, unit="").strip()
    return (*answers, {"label": label, "action": request.path, "fields": {**kept, sure: "yes"}})


def _kept(*without: str) -> dict[str, str]:
    """What was sent, to be sent again: without what belongs to this sending alone."""
    return {key: text for key, text in request.form.items() if key not in ("command_id", "form_token", *without)}


def _asked_code(message: Message, showing: Showing) -> Message:
    """The same message with a field for the personal code."""
    fields = _kept(CODE_FIELD)
    answer = {"label": showing.words("code_send"), "action": request.path, "fields": fields, "field": CODE_FIELD}
    return message._replace(more="", asks=({**answer, "field_label": showing.words("code_field")},))


def _units(name: str, field: str, showing: Showing) -> tuple[str, str]:
    """The unit of what was typed, and the other one."""
    if name == "weight":
        return _SIGNS["weight_kg"]
    if name == "count" or field == "quantity":
        return {"kg": _SIGNS["weight_kg"], "L": _SIGNS["volume_l"]}.get(request.form.get("unit", ""), ("", ""))
    unit = showing.formats.unit
    return _SIGNS.get(request.form.get("measure", ""), (unit, "°F" if unit == "°C" else "°C"))
