"""Shift hand-over: the note as it is now, words of one's own, and notes on record that somebody takes over."""

from flask import Blueprint, Response, abort

from display.panels import Showing
from display.papers.answers import as_pdf
from display.request import page, person_id, showing
from display.station_told import note_to_read
from orchestrator.core.handover import note_of
from orchestrator.core.models.handover import Handover

pages = Blueprint("handover", __name__)


@pages.get("/handover")
def handover_page() -> str:
    """The note to be handed over, then those on record, newest first."""
    picture = showing()
    state = picture.snapshot.state
    _ = picture.kitchen
    note = note_of(state, picture.now, person_id())
    number = note_to_read(state, person_id() or "", picture.now)
    unread = next((one for one in state.handovers if one.number == number), None)
    return page("handover.html", note=note, one=None, unread=unread, handovers=state.handovers[::-1])


@pages.get("/handover/<int:number>")
def handed_over_page(number: int) -> str:
    """One on record."""
    return _on_record(showing(), number)


@pages.get("/handover/<int:number>.pdf")
def handed_over_pdf(number: int) -> Response:
    """The same as a PDF, ``?paper=a4`` or ``letter``."""
    picture = showing()
    return as_pdf(picture, _on_record(picture, number), f"hand-over-{number}", picture.words("handover"))


@pages.get("/handover/now.pdf")
def handover_pdf() -> Response:
    """The note as it is now, not on record."""
    picture = showing()
    return as_pdf(picture, handover_page(), "hand-over", picture.words("handover"))


def _on_record(picture: Showing, number: int) -> str:
    found: Handover | None = next((o for o in picture.snapshot.state.handovers if o.number == number), None)
    if found is None:
        abort(404)
    return page("handover.html", note=found.note, one=found, handovers=())
