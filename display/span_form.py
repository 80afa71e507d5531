"""From when to when, for somebody or a machine, as a form: what was typed, or each fault beside its field."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from display.forms import FormFault, Tapped
from display.panels import Showing
from orchestrator.core.changes import apply
from orchestrator.core.errors import Refusal
from orchestrator.core.models.change import Change
from orchestrator.core.planning import plan_request


@dataclass(slots=True)
class SpanForm:
    """What stands in the fields, and what is wrong with each."""

    values: dict[str, str] = field(default_factory=dict)
    faults: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Span:
    """Who or what, from when to when."""

    thing: str
    start: datetime
    end: datetime


def read(
    picture: Showing,
    fields: Mapping[str, str],
    who: str,
    known: Collection[str],
    until: Callable[[str, datetime], datetime] | None = None,
) -> tuple[SpanForm, Span | None]:
    """What was sent; without a span where there is a fault.

    Args:
        picture: On whose clock the times are.
        fields: ``from``, ``until`` and the one named by ``who``.
        who: Name of the field that says who or what.
        known: What it may say.
        until: Of whom and from when, the end where ``until`` is left empty; none: it may not be.
    """
    form, made = Tapped(fields, picture, None), SpanForm({k: v for k, v in fields.items() if isinstance(v, str)})
    instants: dict[str, datetime] = {}
    for name in ("from", "until"):
        try:
            left_out = name == "until" and until is not None and not form.text(name)
            instant = form.instant(name) if left_out or form.need(name) else None
        except FormFault as fault:
            made.faults[name] = f"{fault.says} {fault.remedy}"
            continue
        if instant is not None:
            instants[name] = instant
    if form.text(who) not in known:
        made.faults[who] = picture.words("span_who")
    elif until is not None and "from" in instants and not form.text("until"):
        instants["until"] = until(form.text(who), instants["from"])
    if len(instants) == 2 and instants["until"] <= instants["from"]:
        made.faults["until"] = picture.words("span_backwards")
    elif "until" in instants and instants["until"] <= picture.now:
        made.faults["until"] = picture.words("span_past", time=picture.formats.when(picture.now, picture.now))
    if made.faults:
        return made, None
    return made, Span(form.text(who), instants["from"], instants["until"])


def refused(picture: Showing, faults: dict[str, str], change: Change) -> bool:
    """Whether the kitchen would not have it; why, is put down among the faults of its form."""
    told = apply(plan_request(picture.snapshot.state, picture.now), [change])
    if isinstance(told, Refusal):
        faults["form"] = picture.words("order_refused", status=told.status, remedy=told.remedy)
        return True
    return False
