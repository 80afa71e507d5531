"""The letters of PDFs: one family that comes with the library that writes them, and what it cannot write."""

import unicodedata
from functools import lru_cache
from typing import Final

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

BODY: Final = "Body"
BOLD: Final = "Body-Bold"
X_HEIGHT: Final = 0.547
"""Height of a small x against the size of the letters: 1120 of 2048 units in Bitstream Vera Sans."""
_INSTEAD: Final = {"→": "->", "\u2011": "-", "☐": "[ ]", "✓": "x"}


@lru_cache(maxsize=1)
def register() -> frozenset[int]:
    """Make the family known to the PDF library, once; returns the code points that it can write."""
    body, bold = TTFont(BODY, "Vera.ttf"), TTFont(BOLD, "VeraBd.ttf")
    pdfmetrics.registerFont(body)
    pdfmetrics.registerFont(bold)
    pdfmetrics.registerFontFamily(BODY, normal=BODY, bold=BOLD, italic=BODY, boldItalic=BOLD)
    return frozenset(body.face.charToGlyph)


def printable(text: str) -> str:
    """The text in letters that the family has: accents that it lacks are left off, the rest becomes a question mark."""
    known = register()
    found = []
    for letter in text:
        if ord(letter) in known or letter in "\n\t":
            found.append(letter)
            continue
        plain = _INSTEAD.get(letter) or "".join(c for c in unicodedata.normalize("NFKD", letter) if ord(c) in known)
        found.append(plain or "?")
    return "".join(found)
