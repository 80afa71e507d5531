"""How a change is refused: by naming the thing, where it stands, and what would be accepted."""

import difflib
from collections.abc import Iterable
from datetime import datetime

from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.models import PlanRequest

_MOST_NAMED = 12


def unknown(what: str, name: str, known: Iterable[str]) -> Refusal:
    """There is no such thing; the remedy is the name nearest to it, or all there are."""
    names = sorted(known)
    near = difflib.get_close_matches(name, names, n=1)
    shown = ", ".join(names[:_MOST_NAMED]) + (" ..." if len(names) > _MOST_NAMED else "")
    remedy = f"did you mean {near[0]}?" if near else f"one of {shown}" if names else f"there is no {what} yet"
    return Refusal(code=RefusalCode.UNKNOWN, thing=name, status=f"there is no {what} of that name", remedy=remedy)


def bad(thing: str, status: str, remedy: str) -> Refusal:
    """The thing is there, but this cannot be done to it."""
    return Refusal(code=RefusalCode.BAD_VALUE, thing=thing, status=status, remedy=remedy)


def no_span(request: PlanRequest, thing: str, start: datetime, end: datetime) -> Refusal | None:
    """Why nothing can be put down from one instant to another; none when it can."""
    if end <= start:
        return bad(thing, "would end before it begins", "an end after the start")
    # The planned days reach no further than they must; what is known of those after them is put down all the same.
    until = request.kitchen.orders_until
    if end <= request.now or start >= until:
        return bad(thing, "that time is not planned", f"a time between now and {request.kitchen.when(until)}")
    return None
