"""A question back to whoever typed a temperature: the answers are buttons that send the form again."""

from collections.abc import Mapping
from typing import Any, Final

from flask import request

from display.panels import Showing
from display.request import Message
from orchestrator.core.errors import Refusal, RefusalCode

_TYPED: Final[Mapping[str, str]] = {"temperature": "temperature", "finish": "measured"}
"""By act, the field in which the temperature was typed."""


def asked(name: str, refusal: Refusal, message: Message, showing: Showing) -> Message:
    """The same message with answers, where the refusal is a question about what was typed."""
    field = _TYPED.get(name, "")
    typed = request.form.get(field, "").strip().replace(",", ".").replace("\u2212", "-")
    if refusal.code is not RefusalCode.DOUBTFUL or not field:
        return message
    try:
        value = float(typed)
    except ValueError:
        return message
    unit, w = showing.formats.unit, showing.words
    kept = {key: text for key, text in request.form.items() if key not in ("command_id", "sure")}
    answers: list[dict[str, Any]] = []
    if refusal.meant is not None:
        meant, other = f"{refusal.meant:.1f}", "°F" if unit == "°C" else "°C"
        label = w("ask_other", typed=f"{value:g}", other=other, meant=meant, unit=unit)
        answers.append({"label": label, "action": request.path, "fields": {**kept, field: meant, "sure": "yes"}})
    label = w("ask_sure", typed=f"{value:g}", unit=unit)
    answers.append({"label": label, "action": request.path, "fields": {**kept, "sure": "yes"}})
    says = w("ask_says", status=refusal.status)
    return message._replace(says=says, more="", asks=tuple(answers))
