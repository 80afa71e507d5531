"""Labels as a PDF: one lot, so many labels, from a place on a part-used sheet on."""

import io
import string
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final, Literal

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph

from display.papers.fonts import BODY, X_HEIGHT, printable, register
from display.papers.symbols import bars_mm, draw_bars, draw_matrix, matrix_mm
from orchestrator.core.gs1 import Element, element_string, readable
from orchestrator.core.models.label import PAGES_MM, LabelSheet

Code = Literal["matrix", "bars", "none"]
MARGIN_MM: Final = 2.5
"""Of a label: printers and sheets are off by a millimetre or two."""
LEAST_X_MM: Final = 1.2
"""Least height of a small x in what must be read. Source: Regulation (EU) No 1169/2011, article 13(2)."""
LEAST_PT: Final = LEAST_X_MM * mm / X_HEIGHT
MOST_PT: Final = 11.0
LARGE: Final = 1.3
"""A line that begins with # against the others."""
BARS_MM: Final = 8.0
"""Height of GS1-128."""
MOST_LABELS: Final = 500


class TooMuch(ValueError):
    """What has to stand on a label finds no room at the least size of letters, or its symbol none at all."""


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on each label."""

    lines: tuple[str, ...]
    """With ``#`` and ``**`` as in the template."""
    elements: tuple[Element, ...]
    code: Code


def fill(template: Sequence[str], values: Mapping[str, str]) -> tuple[str, ...]:
    """The template's lines with values in them.

    Parts of a line are parted by `` · ``; a part whose placeholders all have nothing to say is left out, a line
    without parts as well.
    """
    found = []
    for line in template:
        large = line.startswith("#")
        parts = [part for part in line.lstrip("# ").split(" · ") if not _empty(part, values)]
        if parts:
            text = " · ".join(part.format_map(values) for part in parts)
            found.append(f"# {text}" if large else text)
    return tuple(found)


def _empty(part: str, values: Mapping[str, str]) -> bool:
    asked = [name for _, name, _, _ in string.Formatter().parse(part) if name is not None]
    return bool(asked) and not any(values.get(name) for name in asked)


def label_pdf(sheet: LabelSheet, label: Label, first: int, count: int, title: str) -> bytes:
    """The sheets as a PDF.

    Args:
        sheet: Measures.
        label: What stands on each.
        first: Place of the first label, from 1, row by row.
        count: How many labels.
        title: Of the document.

    Raises:
        TooMuch: It does not fit the label.
    """
    register()
    wide, high = PAGES_MM[sheet.page]
    into = io.BytesIO()
    canvas = Canvas(into, pagesize=(wide * mm, high * mm), invariant=True)
    canvas.setTitle(printable(title))
    laid = _lay_out(sheet, label)
    for number in range(first - 1, first - 1 + count):
        place = number % sheet.places
        if place == 0 and number != first - 1:
            canvas.showPage()
        row, column = divmod(place, sheet.columns)
        left = (sheet.left_mm + column * sheet.across_mm) * mm
        top = (high - sheet.top_mm - row * sheet.down_mm) * mm
        _draw(canvas, sheet, label, laid, (left, top))
    canvas.showPage()
    canvas.save()
    return into.getvalue()


@dataclass(frozen=True, slots=True)
class _Laid:
    """Text that fits, and where the symbol goes."""

    texts: tuple[Paragraph, ...]
    width: float
    string: str
    side: float
    """Of the matrix, in points."""


def _lay_out(sheet: LabelSheet, label: Label) -> _Laid:
    inner_w, inner_h = (sheet.width_mm - 2 * MARGIN_MM) * mm, (sheet.height_mm - 2 * MARGIN_MM) * mm
    told = element_string(label.elements) if label.code != "none" else ""
    side = matrix_mm(told) * mm if label.code == "matrix" else 0.0
    text_w, text_h = inner_w - (side + 2 * mm if side else 0.0), inner_h
    if label.code == "bars":
        if bars_mm(told) * mm > inner_w + 2 * mm:
            raise TooMuch(f"GS1-128 would be {bars_mm(told):.0f} mm wide on a label of {sheet.width_mm:g} mm")
        text_h -= (BARS_MM + 1.0) * mm
    elif side > inner_h:
        raise TooMuch(f"the symbol would be {side / mm:.0f} mm high on a label of {sheet.height_mm:g} mm")
    # A space between elements, where the line may break: an identifier cut in two reads as another.
    lines = (*label.lines, " ".join(readable((one,)) for one in label.elements)) if told else label.lines
    size = MOST_PT
    while size >= LEAST_PT:
        texts = tuple(_paragraph(line, size) for line in lines)
        if sum(text.wrap(text_w, text_h)[1] for text in texts) <= text_h:
            return _Laid(texts, text_w, told, side)
        size -= 0.25
    raise TooMuch(f"{len(lines)} lines find no room on {sheet.width_mm:g} × {sheet.height_mm:g} mm")


def _paragraph(line: str, size: float) -> Paragraph:
    large = line.startswith("# ")
    points = size * LARGE if large else size
    style = ParagraphStyle("label", fontName=BODY, fontSize=points, leading=points * 1.18, splitLongWords=1)
    pieces = escape(printable(line.removeprefix("# ")), quote=False).split("**")
    text = "".join(f"<b>{piece}</b>" if place % 2 else piece for place, piece in enumerate(pieces))
    return Paragraph(f"<b>{text}</b>" if large else text, style)


def _draw(canvas: Canvas, sheet: LabelSheet, label: Label, laid: _Laid, corner: tuple[float, float]) -> None:
    left, top = corner
    x, y = left + MARGIN_MM * mm, top - MARGIN_MM * mm
    for text in laid.texts:
        y -= text.wrap(laid.width, sheet.height_mm * mm)[1]
        text.drawOn(canvas, x, y)
    if label.code == "matrix":
        draw_matrix(canvas, laid.string, left + (sheet.width_mm - MARGIN_MM) * mm - laid.side, top - MARGIN_MM * mm)
    elif label.code == "bars":
        wide = bars_mm(laid.string) * mm
        bottom = top - (sheet.height_mm - MARGIN_MM) * mm
        draw_bars(canvas, laid.string, left + (sheet.width_mm * mm - wide) / 2, bottom, BARS_MM * mm)
