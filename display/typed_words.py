"""What people typed stays exactly as it is, also inside a sentence that is told in another language or other units.

Core puts what was typed at the end of a sentence of its own: ``quality: tastes sour``, ``made from C1, which is on
hold: quality: tastes sour``. The sentence is told, the words are not: they are veiled before, and shown again after. A
veiled text has neither letters nor figures nor spaces, so that nothing that looks for those finds any.
"""

import re
from typing import Final

from display.words import AsPrinted
from orchestrator.core.decide.machines import POWER_CUT

_PLANE: Final = 0xF0000
"""Private use: no text that anybody types is there. Letters beyond the basic plane are not told in any language."""
_VEILED: Final = re.compile(f"[{chr(_PLANE)}-{chr(_PLANE + 0xFFFF)}]+")
_KINDS: Final = r"(?:quality|temperature|machine|ingredient|other|put on hold): "
_SOURCE: Final = r"made from \S+, which (?:is on hold|was discarded): "
_FRAME: Final = re.compile(
    r"(?:lot \S+ is (?:on hold|asked about): |on hold: "
    r"|(?:may have warmed to [^,]{1,12}|nobody knows how warm it became), by )?"
    rf"(?:{_SOURCE})*(?:{_KINDS}|[^:;]{{1,100}} stopped: (?!{POWER_CUT}$))"
    r"|lot \S+ is (?:discarded|rework): "
)
"""What core says before words of a person."""
_AND: Final = re.compile(
    rf"; (?={_SOURCE}|{_KINDS}|critical step left out: |no plan finds a place |past its days|[^:;]{{1,100}}: "
    r"(?:limit broken|the record has a gap|target |[-\d.]+ °C by hand))"
)
"""Between two reasons of one lot."""


def as_typed(text: str) -> str:
    """Words of a person, which nothing tells anew; the one reason that a button writes in their stead stays a text."""
    return text if text == POWER_CUT else AsPrinted(text)


def veiled(text: str) -> list[str]:
    """The sentences of a text with all that was typed in them veiled; itself where nothing was."""
    clauses = _AND.split(text)
    told = [_veiled_end(clause) for clause in clauses]
    return told if told != clauses else [text]


def _veiled_end(clause: str) -> str:
    frame = _FRAME.match(clause)
    if frame is None:
        return clause
    return frame[0] + "".join(chr(_PLANE + ord(c)) if ord(c) <= 0xFFFF else c for c in clause[frame.end() :])


def unveiled(text: str) -> str:
    """All of it to be read again."""
    return _VEILED.sub(lambda found: "".join(chr(ord(c) - _PLANE) for c in found[0]), text)
