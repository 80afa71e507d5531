"""What is kept of the last readings, added to and taken from at each one and never counted through again."""

from bisect import bisect_left, insort
from collections import deque
from typing import Final

_TURNING: Final = 0.4
"""Second differences of white noise turn three times of four; a smooth curve hardly ever does."""


class LastFew:
    """How many of the last so many were so."""

    __slots__ = ("_kept", "many")

    def __init__(self, size: int) -> None:
        self._kept: deque[bool] = deque(maxlen=size)
        self.many = 0

    def push(self, so: bool) -> None:
        """One more; the oldest leaves."""
        kept = self._kept
        if len(kept) == kept.maxlen:
            self.many -= kept[0]
        kept.append(so)
        self.many += so

    def clear(self) -> None:
        """Forget all."""
        self._kept.clear()
        self.many = 0


class Scatter:
    """How far the last so many single readings stood off the line between their neighbours."""

    __slots__ = ("_kept", "_sizes", "_turns")

    def __init__(self, size: int) -> None:
        self._kept: deque[float] = deque(maxlen=size)
        self._sizes: list[float] = []
        """Without their signs, in order of size."""
        self._turns = 0

    def __len__(self) -> int:
        return len(self._kept)

    def push(self, off: float) -> None:
        """One more; the oldest leaves."""
        kept, sizes = self._kept, self._sizes
        if len(kept) == kept.maxlen:
            oldest = kept.popleft()
            self._turns -= oldest * kept[0] < 0.0
            del sizes[bisect_left(sizes, abs(oldest))]
        if kept:
            self._turns += kept[-1] * off < 0.0
        kept.append(off)
        insort(sizes, abs(off))

    def clear(self) -> None:
        """Forget all."""
        self._kept.clear()
        self._sizes.clear()
        self._turns = 0

    @property
    def deviation(self) -> float:
        """Standard deviation, robust to a few that stand out; 0 while they bend one way only, or none is known."""
        count, sizes = len(self._kept), self._sizes
        if not count or self._turns < _TURNING * (count - 1):
            return 0.0
        middle = count // 2
        median = sizes[middle] if count % 2 else (sizes[middle - 1] + sizes[middle]) / 2.0
        return 1.4826 * median
