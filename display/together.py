"""A number and its unit stay on one line: ``7 °C``, ``2 h 10 min``, ``40 L``.

`Formats` writes them so; sentences of core, files and words have plain spaces, by which they are recognised and
compared. So it is done last, where a page, a panel or an answer leaves: in what is read, never in what is sent back or
drawn.
"""

import re
from typing import Final

KEEP: Final = "\u00a0"
_UNITS: Final = (
    "°C|°F|°Bx|%|kg|g|mg|L|l|ml|mL|lb|oz|fl|qt|pt|gal|cups?|tazas?|trays?|bandejas?|pieces?|piezas?|min|h|s|d|am|pm"
)
_APART: Final = re.compile(
    rf" (?:(?<=[0-9] )(?=(?:{_UNITS})(?![\w°-]))"  # 40 L
    r"|(?<=[0-9][ \u00a0]h )(?=[0-9]{1,2}(?:[ \u00a0]min\b|(?![\w.,:])))"  # 2 h 10 min, 3 h 18
    r"|(?<=[0-9][ \u00a0]d )(?=[0-9]{1,2}[ \u00a0]h\b)"  # 2 d 4 h
    r"|(?<=[0-9][ \u00a0]fl )(?=oz\b))"
)
"""Begins with the space, for which the search is quick: a millisecond a page."""
_AS_IT_IS: Final = ("<textarea", "<script", "<style", "<pre", "<code")
"""What stands in these is sent back, run or copied."""


def kept_together(html: str) -> str:
    """HTML whose texts part no number from its unit; tags, and what is typed or run, stay as they are."""
    pieces: list[str] = []
    done = 0
    for found in _APART.finditer(html):
        at = found.start()
        begins = html.rfind("<", 0, at)
        if begins > html.rfind(">", 0, at) or (begins >= 0 and html.startswith(_AS_IT_IS, begins)):
            continue
        pieces += (html[done:at], KEEP)
        done = at + 1
    return "".join((*pieces, html[done:]))


def text_together(text: str) -> str:
    """The same of a plain text."""
    return _APART.sub(KEEP, text)
