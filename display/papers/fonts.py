"""The letters of PDFs: one family from a package of fonts, and what stands for what it cannot write."""

import io
import unicodedata
from functools import lru_cache
from typing import Final

from pymupdf_fonts import myfont
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

BODY: Final = "Body"
BOLD: Final = "Body-Bold"
X_HEIGHT: Final = 0.527
"""Height of a small x against the size of the letters: 527 of 1000 units in FiraGO, by its own table; bold 531."""
_REGULAR, _BOLD = "figo", "figbo"
"""FiraGO, SIL Open Font License 1.1: Latin with all European letters, Greek, Cyrillic, Vietnamese."""
_INSTEAD: Final = {"→": "->", "←": "<-", "☐": "[ ]", "✓": "x", "\u2011": "-", "\u202f": "\u00a0", "′": "'", "″": '"'}


@lru_cache(maxsize=1)
def register() -> frozenset[int]:
    """Make the family known to the PDF library, once; returns the code points that it can write, in both weights."""
    body, bold = TTFont(BODY, io.BytesIO(myfont(_REGULAR))), TTFont(BOLD, io.BytesIO(myfont(_BOLD)))
    pdfmetrics.registerFont(body)
    pdfmetrics.registerFont(bold)
    pdfmetrics.registerFontFamily(BODY, normal=BODY, bold=BOLD, italic=BODY, boldItalic=BOLD)
    return frozenset(body.face.charToGlyph) & frozenset(bold.face.charToGlyph)


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
