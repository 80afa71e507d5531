"""A question back to whoever typed a value: the answers are buttons that send the form again."""

from collections.abc import Mapping
from typing import Any, Final

from flask import request

from display.panels import Showing
from display.request import Message
from orchestrator.core.errors import Refusal, RefusalCode

_TYPED: Final[Mapping[str, str]] = {"temperature": "temperature", "finish": "measured", "weight": "weight"}
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
    field = _TYPED.get(name, "")
    typed = request.form.get(field, "").strip().replace(",", ".").replace("\u2212", "-")
    if refusal.code is not RefusalCode.DOUBTFUL or not field:
        return message
    try:
        value = float(typed)
    except ValueError:
        return message
    w, (unit, other) = showing.words, _units(name, showing)
    kept = {key: text for key, text in request.form.items() if key not in ("command_id", "sure")}
    answers: list[dict[str, Any]] = []
    if refusal.meant is not None:
        meant = f"{refusal.meant:.1f}" if unit.startswith("°") else f"{refusal.meant:g}"
        label = w("ask_other", typed=f"{value:g}", other=other, meant=meant, unit=unit)
        answers.append({"label": label, "action": request.path, "fields": {**kept, field: meant, "sure": "yes"}})
    label = w("ask_sure", typed=f"{value:g}", unit=unit)
    answers.append({"label": label.strip(), "action": request.path, "fields": {**kept, "sure": "yes"}})
    says = w("ask_says", status=refusal.status)
    return message._replace(says=says, more="", asks=tuple(answers))


def _units(name: str, showing: Showing) -> tuple[str, str]:
    """The unit of what was typed, and the other one."""
    if name == "weight":
        return _SIGNS["weight_kg"]
    unit = showing.formats.unit
    return _SIGNS.get(request.form.get("measure", ""), (unit, "°F" if unit == "°C" else "°C"))
