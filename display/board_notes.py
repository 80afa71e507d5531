"""What must be read of a row crowded with short steps, on a line of its own below them; all places in percent.

On a busy day somebody has ten steps of five minutes: words beside each would lie over its neighbours. Each step keeps
its shape, its title and its place in the order of keys; the words of those that stand close are put together.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from display.board_drawing import CHARACTER, WRITTEN_ANYWAY, Axis
from orchestrator.core.views.board_models import BlockView

WORST_FIRST: Final = ("missed", "on hold", "at risk", "late", "tight")
NAMED: Final = 2
"""So many lots with one flag are named; more are counted."""


@dataclass(frozen=True, slots=True)
class Said:
    """Of which steps, and what."""

    of: str
    flag: str


@dataclass(frozen=True, slots=True)
class Note:
    """Words below the steps that they are about, beginning where the first of them does."""

    x: float
    width: float
    said: tuple[Said, ...]


def notes(blocks: Iterable[BlockView], axis: Axis, word: Callable[[str], str]) -> list[Note]:
    """Flags that are always written, from left to right, none over another.

    Args:
        blocks: Of one row, with the labels by which they are known.
        word: What a flag is called in the reader's language.
    """
    flagged = [b for b in blocks if b.flag in WRITTEN_ANYWAY and axis.shows(b.start, b.end)]
    groups: list[list[BlockView]] = []
    for block in sorted(flagged, key=lambda b: (b.start, b.task or "")):
        groups.append([block])
        while len(groups) > 1 and _begins(groups[-1], axis, word) < _ends(groups[-2], axis, word):
            last = groups.pop()
            groups[-1] += last
    return [Note(_begins(g, axis, word), _width(_said(g), word), _said(g)) for g in groups]


def _said(blocks: Sequence[BlockView]) -> tuple[Said, ...]:
    found = []
    for flag in WORST_FIRST:
        of = [block.label for block in blocks if block.flag == flag]
        names = list(dict.fromkeys(of))
        if of:
            found.append(Said(", ".join(names) if len(names) <= NAMED else f"{len(of)}×", flag))
    return tuple(found)


def _width(said: Sequence[Said], word: Callable[[str], str]) -> float:
    return CHARACTER * sum(len(f"{one.of} {word(one.flag)}, ") for one in said)


def _begins(blocks: Sequence[BlockView], axis: Axis, word: Callable[[str], str]) -> float:
    """Under the first of them; further left where the edge of the board is near."""
    return max(0.0, min(axis.clipped(blocks[0].start), 100.0 - _width(_said(blocks), word)))


def _ends(blocks: Sequence[BlockView], axis: Axis, word: Callable[[str], str]) -> float:
    return _begins(blocks, axis, word) + _width(_said(blocks), word)
