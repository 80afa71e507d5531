"""Wrong secrets slow down whoever types them, more each time; nobody is ever locked out for good."""

import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable
from typing import Final

FREE: Final = 3
"""So many slips cost nothing."""
LONGEST_S: Final = 300.0
FORGOTTEN_S: Final = 3600.0
"""After so long without a slip the first ones are free again."""
MOST_KEYS: Final = 2000
CROWD: Final = 30
CROWD_S: Final = 600.0
"""More slips than that within this time, whoever made them: strangers wait for each other, `APART_S` a try."""
APART_S: Final = 3.0


class Brake:
    """Counts slips by key (a network address, a person). Thread-safe; in memory, so that a restart forgets them."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        """Args:
        clock: Seconds that only go forward.
        """
        self._clock = clock
        self._slips: OrderedDict[str, tuple[int, float]] = OrderedDict()
        self._all: deque[float] = deque(maxlen=CROWD + 1)
        self._lock = threading.Lock()

    def wait_s(self, key: str, *, known: bool = False) -> float:
        """How long this one must wait before the next try; 0: go on.

        Args:
            key: Whose slips count.
            known: A paired screen, say: it does not wait for the slips of strangers.
        """
        with self._lock:
            now = self._clock()
            count, last = self._slips.get(key, (0, now))
            own = last + self._pause(count) - now if count > FREE else 0.0
            return max(0.0, own, 0.0 if known else self._crowded(now))

    def slipped(self, key: str) -> None:
        """A wrong one."""
        with self._lock:
            now = self._clock()
            count, last = self._slips.pop(key, (0, now))
            self._slips[key] = (1 if now - last > FORGOTTEN_S else count + 1, now)
            self._all.append(now)
            while len(self._slips) > MOST_KEYS:
                self._slips.popitem(last=False)

    def passed(self, key: str) -> None:
        """A right one: all is forgotten."""
        with self._lock:
            self._slips.pop(key, None)

    @staticmethod
    def _pause(count: int) -> float:
        return min(LONGEST_S, 2.0 ** min(count - FREE, 20))

    def _crowded(self, now: float) -> float:
        if len(self._all) <= CROWD or now - self._all[0] > CROWD_S:
            return 0.0
        return self._all[-1] + APART_S - now


class Rate:
    """So many in so long by key: for what is not wrong, only too often."""

    def __init__(self, most: int, within_s: float, clock: Callable[[], float] = time.monotonic) -> None:
        """Args:
        most: How many are let through.
        within_s: In how many seconds.
        clock: Seconds that only go forward.
        """
        self._most, self._within_s, self._clock = most, within_s, clock
        self._times: OrderedDict[str, deque[float]] = OrderedDict()
        self._lock = threading.Lock()

    def take(self, key: str) -> float:
        """One more. Returns: 0 if it is let through, else how many seconds to wait."""
        with self._lock:
            now = self._clock()
            times = self._times.setdefault(key, deque())
            self._times.move_to_end(key)
            while times and now - times[0] >= self._within_s:
                times.popleft()
            if len(times) >= self._most:
                return times[0] + self._within_s - now
            times.append(now)
            while len(self._times) > MOST_KEYS:
                self._times.popitem(last=False)
            return 0.0
