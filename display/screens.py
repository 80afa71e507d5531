"""Which screens are there: each tells now and then how far the log had come that it shows; who falls silent is stale.

A connection that stands proves nothing: a browser can hold one and show an hour ago. So screens say what they show.
"""

import json
import re
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Final

SCREENS: Final = "coldwright screens"
"""Where the application keeps the book."""
STALE_S: Final = 60.0
"""Four tellings missed, or so long behind the log."""
FORGOTTEN_S: Final = 24 * 3600.0
MOST: Final = 500
_NAME: Final = re.compile(r"[A-Za-z0-9-]{8,64}")
_STATES: Final = frozenset({"shown", "hidden", "left"})


@dataclass(frozen=True, slots=True)
class Seen:
    """A screen as it was last heard."""

    page: str
    """Path of the page it shows."""
    state: str
    """``shown``, ``hidden`` (another tab in front, or the device sleeps), or ``left``."""
    at: datetime
    """When it was last heard, by this computer's clock."""
    heard_s: float
    """The same on the monotonic clock."""
    seq: int
    """Of the newest record that it knows of."""
    behind_since_s: float | None
    """Since when the log is further than what it shows; none while it shows the newest."""


@dataclass(frozen=True, slots=True)
class Standing:
    """A screen as it stands now."""

    page: str
    state: str
    """As in `Seen`, or ``silent`` (not heard in time) or ``behind`` (shows what is no longer so)."""
    at: datetime
    behind: int
    """Records that it does not know of."""

    @property
    def stale(self) -> bool:
        """Whether people who look at it are misled."""
        return self.state in {"silent", "behind"}


class ScreenBook:
    """All screens that were heard lately; at most 500, and none longer than a day. Loop thread writes, any reads."""

    def __init__(self, monotonic: Callable[[], float] = time.monotonic) -> None:
        """Nobody was heard yet."""
        self._monotonic = monotonic
        self._seen: dict[str, Seen] = {}

    def hear(self, told: bytes, head: int) -> bool:
        """Take in what a screen says of itself.

        Args:
            told: JSON with ``screen``, ``page``, ``seq`` and ``state``; anything else is turned away.
            head: Number of the newest record now.

        Returns:
            Whether it was understood.
        """
        try:
            document = json.loads(told)
            name, page, seq, state = (document[key] for key in ("screen", "page", "seq", "state"))
        except (ValueError, KeyError, TypeError):
            return False
        if not (isinstance(name, str) and _NAME.fullmatch(name) and isinstance(seq, int) and state in _STATES):
            return False
        if not (isinstance(page, str) and page.startswith("/")):
            return False
        now = self._monotonic()
        known = self._seen.pop(name, None)
        since = None
        if seq < head:
            since = known.behind_since_s if known is not None and known.behind_since_s is not None else now
            if known is not None and seq > known.seq:
                since = now  # it moves on, only not as fast as the log does
        if state != "left":
            self._seen[name] = Seen(page[:200], state, datetime.now(UTC), now, seq, since)
        elif known is not None:
            self._seen[name] = replace(known, state="left", at=datetime.now(UTC), heard_s=now)
        self._forget(now)
        return True

    def _forget(self, now: float) -> None:
        """Those that left, once another page of theirs would have been heard; the oldest where there are too many."""
        for name, seen in list(self._seen.items()):
            age = now - seen.heard_s
            if age > FORGOTTEN_S or (seen.state == "left" and age > STALE_S):
                del self._seen[name]
        while len(self._seen) > MOST:
            del self._seen[next(iter(self._seen))]

    def standing(self, head: int) -> list[Standing]:
        """All that did not leave, the stale ones first, then by page."""
        now = self._monotonic()
        found = [self._as_it_is(seen, now, head) for seen in tuple(self._seen.values()) if seen.state != "left"]
        return sorted(found, key=lambda one: (not one.stale, one.page, one.at))

    def _as_it_is(self, seen: Seen, now: float, head: int) -> Standing:
        state = seen.state
        if state == "shown":
            if now - seen.heard_s > STALE_S:
                state = "silent"
            elif seen.behind_since_s is not None and now - seen.behind_since_s > STALE_S:
                state = "behind"
        return Standing(seen.page, state, seen.at, max(0, head - seen.seq))
