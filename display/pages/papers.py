"""What is printed and taken away: sheets as pages, PDF and CSV from the same rows."""

from collections.abc import Callable
from datetime import date, timedelta

from flask import Blueprint, Response, abort, request

from display.panels import Showing
from display.papers.answers import as_csv, as_filed, as_pdf
from display.papers.buying_sheets import order_sheet, pull_sheet, weigh_sheet
from display.papers.day_sheet import day_sheet
from display.papers.sheets import BOX, TO_WRITE, Sheet
from display.request import page, showing
from orchestrator.core.ids import LotCode

pages = Blueprint("papers", __name__)


@pages.get("/papers")
def papers_page() -> str:
    """The way to every sheet, file and calendar."""
    picture = showing()
    plan, day = picture.snapshot.state.plan, asked_day(picture, 0)
    names = {recipe.id: recipe.name for recipe in picture.kitchen.recipes}
    batches = [(b, names.get(b.recipe, b.recipe)) for b in plan.batches] if plan is not None else []
    first = picture.formats.local(picture.kitchen.planning_start).date()
    days = [first + timedelta(days=number) for number in range(picture.kitchen.horizon_days)]
    return page("papers.html", day=day, days=days, batches=batches, tomorrow=asked_day(picture, 1))


@pages.get("/papers/<name>")
@pages.get("/papers/<name>/<which>")
def sheet_page(name: str, which: str = "") -> str:
    """A sheet: ``order``, ``pull?day=``, ``weigh/<lot>``, ``day?day=&station=&person=``."""
    return _page(showing(), _sheet(showing(), name, which))


@pages.get("/papers/<name>.pdf")
@pages.get("/papers/<name>/<which>.pdf")
def sheet_pdf(name: str, which: str = "") -> Response:
    """The same as a PDF, ``?paper=a4`` or ``letter``."""
    picture = showing()
    sheet = _sheet(picture, name, which)
    return as_pdf(picture, _page(picture, sheet), sheet.name, sheet.title, wide=sheet.wide)


@pages.get("/papers/<name>.csv")
@pages.get("/papers/<name>/<which>.csv")
def sheet_csv(name: str, which: str = "") -> Response:
    """Its rows as CSV."""
    sheet = _sheet(as_filed(showing()), name, which)
    return as_csv(sheet.columns, sheet.rows, sheet.name)


def _page(picture: Showing, sheet: Sheet) -> str:
    query = request.query_string.decode("ascii", "replace")
    path = request.path.removesuffix(".pdf")
    return page("sheet.html", sheet=sheet, path_of=path, query=query, to_write=TO_WRITE, box=BOX)


def _sheet(picture: Showing, name: str, which: str) -> Sheet:
    makers: dict[str, Callable[[], Sheet]] = {
        "order": lambda: order_sheet(picture),
        "pull": lambda: pull_sheet(picture, asked_day(picture, 1)),
        "day": lambda: day_sheet(picture, asked_day(picture, 0), *_narrowed(picture)),
        "weigh": lambda: weigh_sheet(picture, LotCode(which)),
    }
    if name not in makers or bool(which) != (name == "weigh"):
        abort(404)
    try:
        return makers[name]()
    except KeyError:
        abort(404)


def _narrowed(picture: Showing) -> tuple[str, str]:
    station, person = request.args.get("station", ""), request.args.get("person", "")
    if station and station not in {one.id for one in picture.kitchen.stations}:
        abort(404)
    if person and person not in {one.id for one in picture.kitchen.crew}:
        abort(404)
    return station, person


def asked_day(picture: Showing, ahead: int) -> date:
    """``?day=2026-11-27``; else so many days from today by the kitchen's clock."""
    typed = request.args.get("day", "")
    if not typed:
        return picture.formats.local(picture.now).date() + timedelta(days=ahead)
    try:
        return date.fromisoformat(typed)
    except ValueError:
        abort(404)
