"""A page's drawn curve as a part of a PDF: the same numbers, the same limits."""

from typing import Final

from reportlab.lib.colors import Color, black
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from display.papers.fonts import BODY, printable
from display.papers.tree import Node

HEIGHT: Final = 54.0
"""Points, a little under two centimetres."""
_GREY: Final = Color(0.82, 0.82, 0.82)


def _share(text: str) -> float:
    """``40%`` as 0.4; a bare number is already one of a hundred."""
    return float(text.removesuffix("%") or 0) / 100


class Curve(Flowable):  # type: ignore[misc]
    """An ``svg`` of the class ``trace``, from `templates/macros/trace.html`."""

    def __init__(self, svg: Node, width: float) -> None:
        super().__init__()
        self._svg, self.width, self.height = svg, width, HEIGHT

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """What it takes."""
        self.width = min(self.width, width)
        return self.width, self.height

    def draw(self) -> None:
        """Limits first, then the line, then the names of the limits."""
        canvas: Canvas = self.canv
        for node in self._svg.nodes():
            if "beyond" in node.classes:
                top, high = _share(node.attributes["y"]), _share(node.attributes["height"])
                canvas.setFillColor(_GREY)
                canvas.rect(0, self._y(top + high), self.width, high * self.height, stroke=0, fill=1)
        canvas.setStrokeColor(black)
        canvas.setFillColor(black)
        for node in self._svg.nodes():
            if node.tag == "line":
                self._limit(canvas, node)
        for line in self._svg.every("polyline"):
            self._line(canvas, line)
        canvas.setLineWidth(0.4)
        canvas.line(0, 0, self.width, 0)
        for node in self._svg.every("text"):
            self._name(canvas, node)

    def _y(self, share: float) -> float:
        return self.height * (1 - share)

    def _limit(self, canvas: Canvas, node: Node) -> None:
        y = self._y(_share(node.attributes["y1"]))
        canvas.setLineWidth(0.6)
        canvas.setDash([4, 2] if "limit" in node.classes else [1, 2])
        canvas.line(0, y, self.width, y)
        canvas.setDash()

    def _line(self, canvas: Canvas, node: Node) -> None:
        points = [tuple(map(float, pair.split(","))) for pair in node.attributes["points"].split()]
        path = canvas.beginPath()
        for number, (x, y) in enumerate(points):
            place = x / 100 * self.width, self._y(y / 100)
            if number:
                path.lineTo(*place)
            else:
                path.moveTo(*place)
        canvas.setLineWidth(0.9)
        canvas.drawPath(path)

    def _name(self, canvas: Canvas, node: Node) -> None:
        share = _share(node.attributes["y"])
        y = self._y(share) + (-7.5 if share < 0.5 else 2)
        canvas.setFont(BODY, 6.5)
        words = printable(node.text())
        if "before" in node.classes:
            canvas.drawRightString(self.width - 2, y, words)
        else:
            canvas.drawString(2, y, words)
