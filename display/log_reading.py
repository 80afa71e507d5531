"""The log, read in pieces: all of it, or what it has gained since somebody looked last."""

from collections.abc import Iterator
from typing import Final

from orchestrator.core.events import Recorded
from orchestrator.gateway.door import Gateway

PIECE: Final = 1000
"""Events that are read at once."""


def whole_log(gateway: Gateway) -> Iterator[Recorded]:
    """Every event, oldest first."""
    after = 0
    while True:
        records = gateway.history(after, PIECE)
        yield from records
        if len(records) < PIECE:
            return
        after = records[-1].seq


class Follower:
    """Reads only what is new: the log holds whole plans, to read it anew for every look would take most of a second.

    Not thread-safe: whoever keeps what it reads holds a lock for both.
    """

    def __init__(self, most: int) -> None:
        """The first time, so many of the latest events are looked through."""
        self._most = most
        self._after: int | None = None

    def gained(self, gateway: Gateway, seq: int) -> Iterator[Recorded]:
        """Events up to ``seq`` that were not read before, oldest first; read them to the end."""
        if self._after is None:
            self._after = max(0, seq - self._most)
        while self._after < seq and (records := gateway.history(self._after, PIECE)):
            self._after = records[-1].seq
            yield from records
