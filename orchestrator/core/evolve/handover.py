"""Hand-overs on record: the latest stay at hand, all of them stay in the log."""

from dataclasses import replace
from typing import Final

from orchestrator.core.events import Recorded
from orchestrator.core.handover_events import HandoverEvent, ShiftHandedOver
from orchestrator.core.models.handover import Handover
from orchestrator.core.state import State

KEPT: Final = 12
"""Of the latest."""


def apply(state: State, recorded: Recorded, event: HandoverEvent) -> State:
    """A new one at the end, or one of them taken over."""
    if isinstance(event, ShiftHandedOver):
        one = Handover(number=recorded.seq, at=event.at, by=event.person, text=event.text, note=event.note)
        return replace(state, handovers=(*state.handovers, one)[-KEPT:])
    taken = {"taken_at": event.at, "taken_by": event.person}
    found = (one.model_copy(update=taken) if one.number == event.handover else one for one in state.handovers)
    return replace(state, handovers=tuple(found))
