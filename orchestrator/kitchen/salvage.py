"""What is right of a part that is not: so that a wrong target does not hide a skill that nobody has."""

import copy
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ValidationError

from orchestrator.core.quantities import UNITS_REQUIRED
from orchestrator.kitchen.local_time import ZONE

M = TypeVar("M", bound=BaseModel)
_ROUNDS = 8
"""Leaving a key out may show the next fault; a part with more of them than this is given up."""


def salvage(model: type[M], data: Any, zone: ZoneInfo) -> M | None:
    """The part with every wrong key left out, or nothing if what must be there is wrong.

    It is for comparing with other parts only: its own faults are noted elsewhere, from the whole.
    """
    rest = copy.deepcopy(data)
    for _ in range(_ROUNDS):
        try:
            return model.model_validate(rest, context={UNITS_REQUIRED: True, ZONE: zone})
        except ValidationError as error:
            wrong = {details["loc"] for details in error.errors(include_url=False)}
            if not all(_leave_out(rest, place) for place in wrong):
                return None
    return None


def _leave_out(data: Any, place: tuple[int | str, ...]) -> bool:
    """Remove the deepest part of ``place`` that is there; False when that would be the whole."""
    holder, last = data, None
    for part in place:
        inside = holder.get(part) if isinstance(holder, dict) else None
        if isinstance(holder, list) and isinstance(part, int) and part < len(holder):
            inside = holder[part]
        if inside is None and not (isinstance(holder, dict) and part in holder):
            break  # missing below here, or a name of pydantic's own: the part above it goes
        last, holder = (holder, part), inside
    if last is None:
        return False
    container, key = last
    if isinstance(container, list):
        # An entry of a list keeps the places of the others right: its faults are noted, the list is left out.
        return _leave_out(data, place[: place.index(key)])
    del container[key]
    return True
