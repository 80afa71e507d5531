"""The whole log, read in pieces."""

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
