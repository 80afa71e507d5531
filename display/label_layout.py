"""Where labels of blocks stand when blocks are low and close: none covers another; those set off get a leader line.

All in percent of the plot, x to the right and y downward. Pure geometry.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

LINE_EM: Final = 1.1
"""Height of a label, in widths of its type."""
GAP: Final = 0.35
"""Between a label and its block."""
STEPS: Final = 7
"""How many lines up or down, and how many steps aside, a label may be set off."""
STEP_X: Final = 2.6
ASIDE: Final = 1.5
"""A step aside weighs this many lines up or down."""
COVERS: Final = 2.0
"""Covering a block weighs this many lines."""


@dataclass(frozen=True, slots=True)
class Box:
    """Something that takes room."""

    x: float
    y: float
    width: float
    height: float

    def meets(self, other: "Box") -> bool:
        """Whether the two overlap."""
        return (
            self.x < other.x + other.width - 1e-9
            and other.x < self.x + self.width - 1e-9
            and self.y < other.y + other.height - 1e-9
            and other.y < self.y + self.height - 1e-9
        )


@dataclass(frozen=True, slots=True)
class Wanted:
    """A label that wants a place."""

    key: str
    block: Box
    """What it belongs to."""
    texts: tuple[tuple[str, float], ...]
    """What it may say, the fullest first, each with its width."""
    flag: float = 0.0
    """Width of what is written right behind it."""


@dataclass(frozen=True, slots=True)
class Label:
    """A label in its place."""

    text: str
    x: float
    """Where it begins."""
    y: float
    """Its middle."""
    beside: bool
    leader: tuple[float, float, float, float] | None
    """x1, y1, x2, y2: from the label to its block, when it is set off."""


def spread(wanted: Iterable[Wanted], em: float) -> dict[str, Label]:
    """A place for every label: in its block, else beside it, else set off with a leader.

    Args:
        wanted: labels; those of large blocks choose first.
        em: height of the plot, in widths of its type.
    """
    line = 100.0 * LINE_EM / em
    asked = sorted(wanted, key=lambda one: (one.block.height < line * 0.75, -one.block.width * one.block.height))
    blocks = [one.block for one in asked]
    taken: list[Box] = []
    placed: dict[str, Label] = {}
    for one in asked:
        label, box = _inside(one, line, taken) or _beside(one, line, taken, blocks)
        placed[one.key] = label
        taken.append(box)
    return placed


def _middle(block: Box, line: float) -> float:
    """Middle of a block, but so that a line there stays within the plot."""
    half = min(50.0, line / 2)
    return min(100.0 - half, max(half, block.y + block.height / 2))


def _inside(one: Wanted, line: float, taken: Sequence[Box]) -> tuple[Label, Box] | None:
    if one.block.height < line * 0.75:
        return None
    y = _middle(one.block, line)
    for text, width in one.texts:
        whole = width + one.flag
        for x in (one.block.x + GAP, one.block.x + one.block.width - whole - GAP):
            box = Box(x, y - line / 2, whole, line)
            fits = x >= one.block.x and x + width <= one.block.x + one.block.width
            if fits and not any(box.meets(other) for other in taken):
                return Label(text, x, y, False, None), box
    return None


def _beside(one: Wanted, line: float, taken: Sequence[Box], blocks: Sequence[Box]) -> tuple[Label, Box]:
    text, width = one.texts[-1]
    whole, at = width + one.flag, _middle(one.block, line)
    best: tuple[float, Label, Box] | None = None
    for down in range(-STEPS, STEPS + 1):
        y = at + down * line
        if y < line / 2 - 1e-6 or y > 100.0 - line / 2 + 1e-6:
            continue
        for step in range(STEPS):
            for x, to in (
                (one.block.x - GAP - whole - step * STEP_X, one.block.x),
                (one.block.x + one.block.width + GAP + step * STEP_X, one.block.x + one.block.width),
            ):
                box = Box(x, y - line / 2, whole, line)
                if x < 0 or x + whole > 100.0 or any(box.meets(other) for other in taken):
                    continue
                covered = sum(box.meets(block) for block in blocks if block is not one.block)
                # After its end comes the slack: left is where a lot is looked for.
                cost = abs(down) + ASIDE * step + COVERS * covered + (2.0 if x > to else 0.0)
                if best is None or cost < best[0] - 1e-9:
                    label = Label(text, x, y, True, _leader(one, (x, whole, y), to, at if down or step else None))
                    best = (cost, label, box)
    if best is not None:
        return best[1], best[2]
    x = max(0.0, one.block.x - GAP - whole)
    return Label(text, x, at, True, None), Box(x, at - line / 2, whole, line)


def _leader(
    one: Wanted, label: tuple[float, float, float], to: float, set_off_from: float | None
) -> tuple[float, float, float, float] | None:
    if set_off_from is None:
        return None
    x, width, y = label
    near = x + width if x < to else x
    return near, y, to, one.block.y + one.block.height / 2
