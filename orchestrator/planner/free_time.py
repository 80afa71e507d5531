"""When something of a given length can start: arithmetic on sets of whole minutes."""

from collections.abc import Iterable, Sequence

Spans = tuple[tuple[int, int], ...]
"""Half-open spans of minutes, sorted and apart."""


def merged(spans: Iterable[tuple[int, int]]) -> Spans:
    """The same minutes as sorted spans that neither overlap nor touch; empty spans are dropped."""
    result: list[tuple[int, int]] = []
    for start, end in sorted(s for s in spans if s[0] < s[1]):
        if result and start <= result[-1][1]:
            result[-1] = (result[-1][0], max(end, result[-1][1]))
        else:
            result.append((start, end))
    return tuple(result)


def less(spans: Iterable[tuple[int, int]], taken: Iterable[tuple[int, int]]) -> Spans:
    """The minutes of ``spans`` that are not in ``taken``."""
    gone = merged(taken)
    left: list[tuple[int, int]] = []
    first = 0
    for start, end in merged(spans):
        since = start
        while first < len(gone) and gone[first][1] <= start:
            first += 1
        position = first
        while position < len(gone) and gone[position][0] < end:
            left.append((since, gone[position][0]))
            since = gone[position][1]
            position += 1
        left.append((since, end))
    return tuple(span for span in left if span[0] < span[1])


def starts(free: Iterable[tuple[int, int]], minutes: int, offset: int = 0) -> Spans:
    """Instants (half-open spans) to start at so that ``minutes`` from ``offset`` on fit in one free span."""
    return merged((a - offset, b - minutes - offset + 1) for a, b in merged(free))


def common(sets: Sequence[Spans], low: int, high: int, at_least: int = 1) -> Spans:
    """Instants from low to high (inclusive) that are in at least so many of the sets."""
    edges = sorted([(a, 1) for s in sets for a, _ in s] + [(b, -1) for s in sets for _, b in s])
    found: list[tuple[int, int]] = []
    depth, since = 0, 0
    for instant, step in edges:
        if depth >= at_least and instant > since:
            found.append((max(low, since), min(high + 1, instant)))
        depth, since = depth + step, instant
    return merged(found)


def both(first: Spans, second: Spans) -> Spans:
    """Minutes in both."""
    found: list[tuple[int, int]] = []
    i = j = 0
    while i < len(first) and j < len(second):
        start, end = max(first[i][0], second[j][0]), min(first[i][1], second[j][1])
        if start < end:
            found.append((start, end))
        if first[i][1] < second[j][1]:
            i += 1
        else:
            j += 1
    return tuple(found)
