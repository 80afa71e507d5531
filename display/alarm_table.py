"""The rationalisation table as Markdown, made from what the alarms page says; `docs/alarms.md` holds it."""

from typing import Final

from display.words import Words
from orchestrator.core.alarm_rationale import RATIONALE, suppressible
from orchestrator.core.models.alarm import AlarmKind
from orchestrator.core.shelving import LONGEST

PARTS: Final = ("cause", "consequence", "time", "act")
"""What every kind of alarm must have."""


def table(words: Words) -> str:
    """One row for each kind; ends with a line end."""
    heads = ["Alarm", *(words(f"meaning_{part}") for part in PARTS), "Quiet (shelved)"]
    rows = [heads, ["---"] * len(heads), *(_row(words, kind) for kind in AlarmKind)]
    return "".join(f"| {' | '.join(row)} |\n" for row in rows)


def _row(words: Words, kind: AlarmKind) -> list[str]:
    shelf = "not while critical" if RATIONALE[kind].food else "yes"
    taken = suppressible(kind)
    if taken is not None:
        shelf += f"; suppressed by design while *{words(f'kind_{taken}')}* tells the same"
    return [words(f"kind_{kind}"), *(words(f"{part}_{kind}") for part in PARTS), shelf]


def longest() -> str:
    """How long each priority may be quiet, as a sentence."""
    said = [f"{priority} {int(length.total_seconds() // 60)} min" for priority, length in LONGEST.items()]
    return ", ".join(said)
