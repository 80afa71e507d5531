"""Files to take away: every list as CSV, and calendar feeds."""

from flask import Blueprint, Response, abort, request

from display.access.hook import guard
from display.papers.answers import as_csv, as_filed
from display.papers.calendars import calendar_of
from display.papers.lists import LISTS, OF_A_LOT
from display.papers.lists_past import MOST_REFUSED, refused
from display.request import showing

pages = Blueprint("files", __name__)


@pages.get("/csv/<name>.csv")
def list_csv(name: str) -> Response:
    """One of `LISTS`; of one lot with ``?lot=``."""
    lot = request.args.get("lot", "")
    if name not in LISTS or bool(lot) != (name in OF_A_LOT):
        abort(404)
    try:
        found = LISTS[name](as_filed(showing().whole), lot)
    except KeyError:
        abort(404)
    return as_csv(found.columns, found.rows, "-".join(filter(None, (name, lot))))


@pages.get("/csv/refused-acts.csv")
def refused_csv() -> Response:
    """Refused acts as kept at the door: for the manager, as the list of them on *Access* is."""
    store = guard().store
    found = refused(store.refused(MOST_REFUSED) if store is not None else ())
    return as_csv(found.columns, found.rows, "refused-acts")


@pages.get("/calendar/<whose>.ics")
def calendar(whose: str) -> Response:
    """The feed of one of the crew, or of a station."""
    try:
        feed = calendar_of(showing(), whose)
    except KeyError:
        abort(404)
    return Response(feed, content_type="text/calendar; charset=utf-8", headers={"Cache-Control": "no-cache"})
