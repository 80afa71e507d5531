"""Tables in Markdown, lined up so that they read as well on a terminal; figures in few digits."""

import math
from collections.abc import Iterable, Sequence

NOTHING = "–"


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """One table; the first column to the left, all others to the right."""
    lines = [list(head), *(list(row) for row in rows)]
    widths = [max(3, *(len(line[column]) for line in lines)) for column in range(len(head))]
    shown = [
        "| " + " | ".join(cell.rjust(width) if n else cell.ljust(width) for n, (cell, width) in enumerate(cells)) + " |"
        for cells in (list(zip(line, widths, strict=True)) for line in lines)
    ]
    rule = "|" + "|".join(f"{'-' * (width + 1)}:" if n else f"{'-' * (width + 2)}" for n, width in enumerate(widths))
    return "\n".join([shown[0], f"{rule}|", *shown[1:]])


def number(value: float | None) -> str:
    """Three figures that matter; a stroke for none, infinite or undefined."""
    if value is None or not math.isfinite(value):
        return NOTHING
    if value != 0 and not 0.001 <= abs(value) < 100_000:
        return f"{value:.0e}"
    return f"{value:.3f}" if abs(value) < 10 else f"{value:.3g}" if abs(value) < 100 else f"{value:.0f}"
