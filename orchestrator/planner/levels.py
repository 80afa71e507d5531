"""How much is in a place that holds several things at once, minute by minute, as a list of steps."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable

from orchestrator.planner import bits

Levels = tuple[list[int], list[int]]
"""Minutes at which the load changes, in time, and the load from each of them on."""
EMPTY: Levels = ([], [])


def changed(levels: Levels, start: int, end: int, load: int) -> Levels:
    """The levels with so much more (or, negative, less) from start up to end; a new list, the old one stays."""
    if end <= start:
        return levels
    times, loads = list(levels[0]), list(levels[1])
    first = _cut(times, loads, start)
    last = _cut(times, loads, end)
    loads[first:last] = [level + load for level in loads[first:last]]
    for at in (last, first):
        if loads[at] == (loads[at - 1] if at else 0):
            del times[at], loads[at]
    return times, loads


def _cut(times: list[int], loads: list[int], minute: int) -> int:
    """Position of the step at a minute, made if there was none."""
    at = bisect_left(times, minute)
    if at == len(times) or times[at] != minute:
        times.insert(at, minute)
        loads.insert(at, loads[at - 1] if at else 0)
    return at


def levels_of(uses: Iterable[tuple[int, int, int]]) -> Levels:
    """The levels of (start, end, load)."""
    found = EMPTY
    for start, end, load in uses:
        found = changed(found, start, end, load)
    return found


def crowded(levels: Levels, room: int, span: tuple[int, int] | None = None) -> int:
    """Minutes, all or those of a span, at which there is more than ``room``."""
    times, loads = levels
    if span is not None:
        first, last = max(0, bisect_right(times, span[0]) - 1), bisect_left(times, span[1])
        times, loads = times[first:last], loads[first:last]
    blocked = 0
    since: int | None = None
    for instant, level in zip(times, loads, strict=True):
        if level > room:
            since = instant if since is None else since
        elif since is not None:
            blocked |= bits.span(since, instant)
            since = None
    if span is None:
        return blocked
    if since is not None:
        blocked |= bits.span(since, span[1])
    return blocked & bits.span(*span)
