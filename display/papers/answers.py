"""Files as answers: PDF of a page, CSV, calendars."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from flask import Response, request

from display.panels import Showing
from display.papers.csv_cells import csv_text
from display.papers.flow import Paper, page_pdf
from display.reader import Reader
from display.request import showing

_FILES: Final = Reader()
"""Who reads files: English, 24 hours, metric units."""


def asked_paper() -> Paper:
    """``?paper=letter``; else A4."""
    return "Letter" if request.args.get("paper", "").lower() == "letter" else "A4"


def as_pdf(picture: Showing, html: str, name: str, title: str, *, wide: bool = False) -> Response:
    """A page as a PDF to take away, on the paper that was asked for."""
    w, f, kitchen = picture.words, picture.formats, picture.kitchen
    stamp = w("papers_stamp", kitchen=kitchen.name, time=f"{f.day(picture.now)} {f.clock(picture.now)}")
    foot = f"{w('practice_long')} · {stamp}" if picture.snapshot.practice else stamp
    made = page_pdf(html, asked_paper(), title, foot, wide=wide)
    return attached(made, "application/pdf", f"{name}.pdf")


def as_filed(picture: Showing) -> Showing:
    """The same picture as CSV tells it, whoever takes it: in English, on 24 hours, metric, in degrees Celsius."""
    seen, kitchen = picture.snapshot, picture.snapshot.state.kitchen
    if kitchen is not None and kitchen.temperature_unit != "C":
        seen = replace(seen, state=replace(seen.state, kitchen=kitchen.model_copy(update={"temperature_unit": "C"})))
    return replace(picture, reader=_FILES, snapshot=seen, memo={})


def as_csv(columns: Sequence[str], rows: Iterable[Sequence[object]], name: str) -> Response:
    """Rows under their columns as a file of that name, without its ending."""
    return attached(csv_text(columns, rows), "text/csv; charset=utf-8", f"{name}.csv")


def attached(content: bytes | str, kind: str, name: str) -> Response:
    """A file under a name of plain letters; a demo's begins with PRACTICE, for it lies among others afterwards."""
    marked = f"PRACTICE-{name}" if showing().snapshot.practice else name
    safe = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "-" for c in marked)
    headers = {"Content-Disposition": f'attachment; filename="{safe}"', "Cache-Control": "no-store"}
    return Response(content, content_type=kind, headers=headers)
