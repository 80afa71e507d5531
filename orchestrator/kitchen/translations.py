"""What of a kitchen's texts is not translated, and which translations are of no text any more: advice, no faults."""

import difflib
from pathlib import Path
from typing import Final

from orchestrator.core.kitchen_texts import names_of, texts_of
from orchestrator.core.models import Kitchen
from orchestrator.kitchen.folder import read_folder
from orchestrator.kitchen.shipped import shipped_texts

MOST: Final = 5
"""So many texts are named; the rest is counted."""


def translation_advice(kitchen: Kitchen, folder: Path) -> list[str]:
    """Lines of advice; none where nobody asks for another language than that of the files.

    Args:
        kitchen: Without faults.
        folder: Its files.
    """
    own, said = read_folder(Path(folder)).texts, dict.fromkeys(texts_of(kitchen))
    known_here = said | dict.fromkeys(names_of(kitchen))
    asked = {ways.language for ways in (kitchen.ways, *(member.ways for member in kitchen.crew))} - {"en", None}
    if not own and not asked and not set(kitchen.labels.languages) - {"en"}:
        return []
    found = []
    known = shipped_texts() | own
    lacking = [text for text in said if text not in known]
    if lacking:
        found.append(f"texts.es.yaml: {_counted(lacking, 'is', 'are')} not translated and shown as written")
    for text in own:
        if text not in known_here and text not in shipped_texts():
            near = difflib.get_close_matches(text, known_here, n=1)
            found.append(f"texts.es.yaml: no file says {text!r}" + (f"; did you mean {near[0]!r}?" if near else ""))
    return found


def _counted(texts: list[str], one: str, many: str) -> str:
    named = ", ".join(repr(text) for text in texts[:MOST])
    more = f" and {len(texts) - MOST} more" if len(texts) > MOST else ""
    return f"{named}{more} {one if len(texts) == 1 else many}"
