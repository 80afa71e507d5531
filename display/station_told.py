"""What a station is told of people: who was quicker, a hand-over note to read, and one's own shift that ends."""

from datetime import datetime, timedelta
from typing import Final

from display.panels import Showing
from orchestrator.core.models import Shift
from orchestrator.core.state import State
from orchestrator.core.views.models import StationView, TaskView

OFFERED: Final = timedelta(minutes=30)
"""So long before the end of a shift its hand-over is offered; a figure of ours: time to write it with wet hands."""
STILL_OFFERED: Final = timedelta(minutes=60)
"""And so long after it, to who stayed on."""
NOTE_READ: Final = timedelta(hours=16)
"""An older note tells nothing of this shift any more; as far as a note itself looks back."""


def last_says(showing: Showing, view: StationView) -> str:
    """Who did the last act here, and when, as a sentence for whoever was about to do the same; empty without one."""
    last, w = view.last_act, showing.words
    if last is None or not w.has(f"other_{last.what}"):
        return ""
    same = next((task for task in view.in_hand if task.title == last.title), None)
    who, when = last.person or w("somebody"), showing.formats.when(last.at, showing.now)
    said = w(f"other_{last.what}", who=who, time=when, thing=last.title, number=_trays_out(same))
    return f"{said} {w('counted_once')}"


def _trays_out(task: TaskView | None) -> int | str:
    if task is None or task.pieces_per_tray <= 0:
        return ""
    return -(-task.pieces_made // task.pieces_per_tray)


def note_to_read(state: State, person: str, now: datetime) -> int | None:
    """The number of the newest hand-over note of somebody else that nobody has taken over yet; none without one."""
    for one in reversed(state.handovers):
        if one.taken_by is None and one.by != person and now - one.at <= NOTE_READ:
            return one.number
    return None


def shift_that_ends(state: State, person: str, now: datetime) -> Shift | None:
    """The shift of somebody that ends soon or has just ended, while they have handed nothing over."""
    crew = state.kitchen.crew if state.kitchen is not None else ()
    for shift in (s for member in crew if member.id == person for s in member.shifts):
        near = shift.end - OFFERED <= now < shift.end + STILL_OFFERED
        # Whose next shift follows at once does not go home.
        on = any(s.start <= shift.end < s.end for m in crew if m.id == person for s in m.shifts)
        given = any(one.by == person and one.at >= shift.end - 2 * OFFERED for one in state.handovers)
        if near and not on and not given:
            return shift
    return None


def shift_end_panel(showing: Showing, person: str) -> str:
    """In the header, which has room for one: the offer to write the note, else to read another's; else nothing.

    Where both are due, the page on which the note is written begins with the one to be read.

    Args:
        showing: The picture.
        person: Who is at the screen; empty where nobody said so.
    """
    state = showing.snapshot.state
    if shift_that_ends(state, person, showing.now) is not None:
        return _offer(showing, person)
    number = note_to_read(state, person, showing.now)
    return "" if number is None else showing.render("panels/shift_end.html", {"note": number})


def shift_below_panel(showing: Showing, person: str) -> str:
    """On a phone, below the screen: both where both are due."""
    number = note_to_read(showing.snapshot.state, person, showing.now)
    read = "" if number is None else showing.render("panels/shift_end.html", {"note": number})
    return f"{_offer(showing, person)}{read}"


def _offer(showing: Showing, person: str) -> str:
    shift = shift_that_ends(showing.snapshot.state, person, showing.now)
    if shift is None:
        return ""
    time = showing.formats.when(shift.end, showing.now)
    return showing.render("panels/shift_end.html", {"time": time, "over": shift.end <= showing.now})
