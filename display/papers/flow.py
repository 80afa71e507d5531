"""A page of ours as a PDF: what the page says, set in type, so that both always say the same.

Only what our templates use is known: headings, paragraphs, lists, facts, tables, steps of a record with their curves,
lines to sign on. Buttons, forms and ways elsewhere are left out, as they are in print.
"""

import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from html import escape
from typing import Any, Final, Literal

from reportlab.lib.colors import Color, black
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, HRFlowable, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from display.papers.fonts import BODY, BOLD, printable, register
from display.papers.traces import Curve
from display.papers.tree import Node, main_of
from orchestrator.core.models.label import PAGES_MM

Paper = Literal["A4", "Letter"]
MARGIN: Final = 12 * mm
SKIPPED: Final = frozenset({"crumb-line", "not-printed", "only-heard", "who-hint"})
"""Classes of what is for the screen alone."""
_NOT_SAID: Final = frozenset({"form", "button", "nav", "svg", "input", "select", "script", "summary"})
_SIZE: Final = 8.5
_GREY: Final = Color(0.55, 0.55, 0.55)
_INLINE: Final = frozenset({"b", "strong", "small", "span", "a", "br", "time", "i", "code"})

_BODY = ParagraphStyle("body", fontName=BODY, fontSize=_SIZE, leading=_SIZE * 1.25, spaceAfter=2, splitLongWords=1)
_SOFT = ParagraphStyle("soft", _BODY, fontSize=_SIZE - 1, leading=(_SIZE - 1) * 1.25, textColor=Color(0.3, 0.3, 0.3))
_H2 = ParagraphStyle("h2", _BODY, fontName=BOLD, fontSize=12, leading=15, spaceBefore=8, keepWithNext=1)
_H3 = ParagraphStyle("h3", _BODY, fontName=BOLD, fontSize=9.5, leading=12, spaceBefore=4, keepWithNext=1)
_LI = ParagraphStyle("li", _BODY, leftIndent=8, bulletIndent=0)


def page_pdf(html: str, paper: Paper, title: str, foot: str, *, wide: bool = False) -> bytes:
    """The main part of a page.

    Args:
        html: The whole page.
        paper: Its size.
        title: Of the document.
        foot: What stands at the foot of every page, beside its number.
        wide: Landscape.
    """
    register()
    size = (PAGES_MM[paper][0] * mm, PAGES_MM[paper][1] * mm)
    size = (size[1], size[0]) if wide else size
    into = io.BytesIO()
    document = SimpleDocTemplate(
        into,
        pagesize=size,
        leftMargin=MARGIN,
        rightMargin=MARGIN,
        topMargin=MARGIN,
        bottomMargin=MARGIN + 5 * mm,
        title=printable(title),
        invariant=1,
    )
    setter = _Setter(size[0] - 2 * MARGIN - 12)
    document.build(list(setter.block(main_of(html))), canvasmaker=_numbered(printable(foot)))
    return into.getvalue()


@dataclass
class _Setter:
    """Turns nodes into parts of a page so wide, in points."""

    width: float

    def block(self, node: Node) -> Iterator[Flowable]:
        """A block and all in it."""
        if node.classes & SKIPPED or node.tag in _NOT_SAID or "hidden" in node.attributes:
            return
        known = self._known(node)
        if known is not None:
            yield from known
            return
        loose: list[Node | str] = []
        for child in node.children:
            if isinstance(child, str) or child.tag in _INLINE:
                loose.append(child)
                continue
            yield from self._loose(loose)
            loose = []
            yield from self.block(child)
        yield from self._loose(loose)

    def _known(self, node: Node) -> Iterator[Flowable] | None:
        """How a block is set, where there is more to it than what is in it."""
        ways: dict[str, Callable[[Node], Iterator[Flowable]]] = {
            "h2": self._head,
            "h3": lambda n: self._text(n, _H3),
            "p": lambda n: self._text(n, _SOFT if "soft" in n.classes else _BODY),
            "ul": self._list,
            "ol": self._list,
            "dl": self._facts,
            "table": self._table,
        }
        for name, way in (("record-step", self._step), ("record-sign", self._sign), ("page-break", self._break)):
            if name in node.classes:
                return way(node)
        return ways[node.tag](node) if node.tag in ways else None

    def _loose(self, parts: list[Node | str]) -> Iterator[Flowable]:
        if parts:
            yield from self._text(Node("p", {}, list(parts)), _BODY)

    def _text(self, node: Node, style: ParagraphStyle) -> Iterator[Flowable]:
        said = _markup(node).strip()
        if said:
            yield Paragraph(said, style)

    def _head(self, node: Node) -> Iterator[Flowable]:
        yield from self._text(node, _H2)
        yield HRFlowable(width="100%", thickness=1.2, color=black, spaceAfter=3, spaceBefore=0)

    def _list(self, node: Node) -> Iterator[Flowable]:
        for item in node.nodes():
            said = _markup(item).strip()
            if said:
                yield Paragraph(said, _LI, bulletText="•" if node.tag == "ul" else None)

    def _facts(self, node: Node) -> Iterator[Flowable]:
        for pair in node.nodes():
            name = next(pair.every("dt"), None)
            told = next(pair.every("dd"), None)
            if name is not None and told is not None:
                yield Paragraph(f"{_markup(name).strip()}: <b>{_markup(told).strip()}</b>", _BODY)

    def _table(self, node: Node) -> Iterator[Flowable]:
        rows = [[cell for cell in row.nodes() if cell.tag in ("td", "th")] for row in node.every("tr")]
        rows = [row for row in rows if row]
        if not rows:
            return
        columns = max(len(row) for row in rows)
        cells = [[self._cell(cell) for cell in row] + [""] * (columns - len(row)) for row in rows]
        heads = sum(1 for part in node.every("thead") for _ in part.every("tr"))
        table = Table(cells, colWidths=self._widths(rows, columns), repeatRows=heads, splitInRow=1)
        style = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, _GREY),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 5),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        ]
        if heads:
            style.append(("LINEBELOW", (0, heads - 1), (-1, heads - 1), 1, black))
        if "ruled" in node.classes:
            style += [("INNERGRID", (0, 0), (-1, -1), 0.4, _GREY), ("LEFTPADDING", (0, 0), (-1, -1), 3)]
        table.setStyle(TableStyle(style))
        yield table
        yield Spacer(0, 4)

    def _cell(self, cell: Node) -> list[Flowable]:
        found = list(self.block(Node("div", {}, cell.children)))
        if "to-write" in cell.classes:
            return [*found, Spacer(0, 16)]
        if cell.tag == "th":
            return [Paragraph(f"<b>{_markup(cell).strip()}</b>", _BODY)]
        return found

    def _widths(self, rows: list[list[Node]], columns: int) -> list[float]:
        """As wide as their words want, within bounds, and all together as wide as the page."""
        wanted, least = [1.0] * columns, [12.0] * columns
        for row in rows:
            for number, cell in enumerate(row):
                text = printable(cell.text())
                room = 58.0 if "to-write" in cell.classes else 0.0
                wanted[number] = max(wanted[number], room, min(190.0, stringWidth(text, BODY, _SIZE) + 12))
                words = [stringWidth(word, BOLD, _SIZE) + 9 for word in re.findall(r"[^ \t\n]+", text)]
                least[number] = max(least[number], min(80.0, max(words, default=0.0)), room)
        spare = self.width - sum(least)
        more = [max(0.0, want - low) for want, low in zip(wanted, least, strict=True)]
        if spare <= 0 or not sum(more):
            scale = self.width / sum(least)
            return [low * scale for low in least]
        return [low + spare * one / sum(more) for low, one in zip(least, more, strict=True)]

    def _step(self, node: Node) -> Iterator[Flowable]:
        """A step of a record: time, curve, what is known, how it ended."""
        shares = (0.15, 0.24, 0.46, 0.15)
        cells: list[list[Flowable]] = []
        for share, part in zip(shares, node.nodes(), strict=False):
            inner = _Setter(self.width * share - 6)
            curves = [Curve(svg, inner.width) for svg in part.every("svg") if "trace" in svg.classes]
            cells.append([*curves, *inner.block(part)] or [Spacer(0, 1)])
        table = Table([cells], colWidths=[self.width * share for share in shares], splitInRow=1)
        table.setStyle(
            TableStyle(
                [
                    ("VALIGN", (0, 0), (-1, -1), "TOP"),
                    ("LINEABOVE", (0, 0), (-1, 0), 0.5, _GREY),
                    ("LEFTPADDING", (0, 0), (-1, -1), 0),
                    ("RIGHTPADDING", (0, 0), (-1, -1), 6),
                ]
            )
        )
        yield table

    def _sign(self, node: Node) -> Iterator[Flowable]:
        cells = [[Paragraph(_markup(part).strip(), _SOFT) for part in node.nodes()]]
        share = self.width / max(1, len(cells[0]))
        table = Table(cells, colWidths=[share] * len(cells[0]), rowHeights=[34])
        table.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), ("LINEBELOW", (0, 0), (-1, -1), 0.8, black)]))
        yield table

    def _break(self, node: Node) -> Iterator[Flowable]:
        from reportlab.platypus import PageBreak

        yield PageBreak()


def _markup(node: Node) -> str:
    """What is in a node, as the library's own marks for bold, small, struck out and new lines."""
    found = []
    for child in node.children:
        if isinstance(child, str):
            found.append(escape(printable(" ".join(child.split(" ")).replace("\n", " ")), quote=False))
        elif child.tag == "br":
            found.append("<br/>")
        elif child.tag in _NOT_SAID or child.classes & SKIPPED:
            continue
        else:
            found.append(_wrapped(child, "undone" in node.classes))
    return "".join(found)


def _wrapped(node: Node, undone: bool) -> str:
    inner = _markup(node)
    if node.tag in ("b", "strong", "h3", "th") or "caution-text" in node.classes:
        return f"<b>{inner}</b>"
    if node.tag == "small":
        return f'<font size="{_SIZE - 1}">{inner}</font>'
    if "told" in node.classes and undone:
        return f"<strike>{inner}</strike>"
    return f"{inner}<br/>" if node.tag in ("p", "div", "li") else inner


def _numbered(foot: str) -> Any:
    """A canvas that writes the foot and "page of pages" on every page, once it knows how many there are."""

    class Numbered(Canvas):  # type: ignore[misc]
        def __init__(self, *arguments: Any, **more: Any) -> None:
            super().__init__(*arguments, **more)
            self._kept: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802 - the library's name
            self._kept.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            for number, state in enumerate(self._kept, 1):
                self.__dict__.update(state)
                self.setFont(BODY, 7)
                self.drawString(MARGIN, MARGIN - 2, foot)
                self.drawRightString(self._pagesize[0] - MARGIN, MARGIN - 2, f"{number} / {len(self._kept)}")
                super().showPage()
            super().save()

    return Numbered
