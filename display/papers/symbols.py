"""Symbols that a scanner reads: GS1 DataMatrix and GS1-128, drawn as vectors."""

import codecs
from typing import Final

from ppf.datamatrix import DataMatrix
from reportlab.graphics.barcode.code128 import Code128
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from orchestrator.core.gs1 import SEPARATOR

MODULE_MM: Final = 0.5
"""Of a DataMatrix: one small square. A printer of 300 dots an inch makes it of six dots."""
BAR_MM: Final = 0.25
"""The narrowest bar of GS1-128 here. GS1 asks for more on goods in general distribution (0.495 mm): for a kitchen's own
scanners this is enough, and it says so on the page."""
QUIET_BARS: Final = 10
"""Empty on each side of GS1-128, in narrowest bars. Source: ISO/IEC 15417."""
_FNC1: Final = 232
"""Codeword of FNC1 in the ASCII encodation of Data Matrix. Source: ISO/IEC 16022, table 2."""
_NAME: Final = "coldwright.gs1"


def _encode(text: str, errors: str = "strict", /) -> tuple[bytes, int]:
    """ASCII encodation, pairs of digits in one codeword, FNC1 first and where the separator stands."""
    words = [_FNC1]
    place = 0
    while place < len(text):
        pair = text[place : place + 2]
        if len(pair) == 2 and pair.isascii() and pair.isdigit():
            words.append(130 + int(pair))
            place += 2
            continue
        words.append(_FNC1 if text[place] == SEPARATOR else ord(text[place]) + 1)
        place += 1
    return bytes(words), len(text)


def _decode(data: object, errors: str = "strict", /) -> tuple[str, int]:
    raise ValueError("symbols are read by scanners, not by this program")


def _search(name: str) -> codecs.CodecInfo | None:
    # Names come in lower case, with an underscore for what some versions take for a separator.
    known = name.replace("_", ".") == _NAME
    return codecs.CodecInfo(_encode, _decode, name=_NAME) if known else None


codecs.register(_search)


def matrix(element_string: str) -> list[list[int]]:
    """The modules of a GS1 DataMatrix, row by row from the top; 1 is dark.

    Raises:
        ValueError: Too long for any size.
    """
    made = DataMatrix(element_string)
    made.codecs = [_NAME]  # its own encodations know no FNC1
    rows: list[list[int]] = made.matrix
    return rows


def matrix_mm(element_string: str) -> float:
    """The side of the symbol, quiet zone of one module on each side included."""
    return (len(matrix(element_string)) + 2) * MODULE_MM


def draw_matrix(canvas: Canvas, element_string: str, left: float, top: float) -> None:
    """Draw it with its quiet zone; left and top in points from the page's lower left corner."""
    side = MODULE_MM * mm
    for number, row in enumerate(matrix(element_string)):
        place = 0
        while place < len(row):
            run = place
            while run < len(row) and row[run]:
                run += 1
            if run > place:  # a run of dark modules is one rectangle, so that no hair line shows between
                x, y = left + (place + 1) * side, top - (number + 2) * side
                canvas.rect(x, y, (run - place) * side, side, stroke=0, fill=1)
            place = max(run, place + 1)


def _bars(element_string: str, height: float) -> Code128:
    # The library writes FNC1 for this letter.
    text = "\xf1" + element_string.replace(SEPARATOR, "\xf1")
    return Code128(text, barWidth=BAR_MM * mm, barHeight=height, quiet=1, lquiet=QUIET_BARS * BAR_MM * mm,
                   rquiet=QUIET_BARS * BAR_MM * mm)  # fmt: skip


def bars_mm(element_string: str) -> float:
    """How wide GS1-128 is, quiet zones included."""
    return float(_bars(element_string, 1).width / mm)


def draw_bars(canvas: Canvas, element_string: str, left: float, bottom: float, height: float) -> None:
    """Draw it; all in points."""
    _bars(element_string, height).drawOn(canvas, left, bottom)
