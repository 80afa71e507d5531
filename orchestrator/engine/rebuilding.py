"""The state at a start: from what was kept of it and the events since; and when it is kept."""

import asyncio
from collections.abc import Callable
from typing import Final

from orchestrator.core.events import Recorded
from orchestrator.core.state import State
from orchestrator.engine.replay import replay
from orchestrator.ports.event_log import EventLog, Snapshots

EVENTS_APART: Final = 1000
"""So many events later the state is kept anew: reading as many takes a fraction of a second (`--only restart`)."""


class Rebuilding:
    """Knows up to where the state was kept. Without `Snapshots` every start reads the whole log."""

    def __init__(self, snapshots: Snapshots | None) -> None:
        self._snapshots = snapshots
        self._kept = 0
        self._keeping: asyncio.Task[None] | None = None

    def rebuild(self, log: EventLog, evolve: Callable[[State, Recorded], State]) -> State:
        """The state after the last record. Blocks: call it from a thread. Raises: LogUnavailable."""
        begin = (self._snapshots.load() if self._snapshots is not None else None) or State()
        self._kept = begin.seq
        state = replay(log, evolve, begin)
        if self._snapshots is not None and state.seq - self._kept >= EVENTS_APART:
            self._keep(self._snapshots, state)
        return state

    def look(self, state: State) -> None:
        """After a commit, in the loop: keep the state in a thread when enough has come."""
        if self._snapshots is None or state.seq - self._kept < EVENTS_APART:
            return
        if self._keeping is None or self._keeping.done():
            self._keeping = asyncio.create_task(
                asyncio.to_thread(self._keep, self._snapshots, state), name="state kept"
            )

    def _keep(self, snapshots: Snapshots, state: State) -> None:
        self._kept = state.seq  # also when it could not be: then it is tried again as many events later
        snapshots.keep(state)

    async def close(self, state: State) -> None:
        """The last one, before the log is closed."""
        if self._keeping is not None:
            await asyncio.wait((self._keeping,))
        if self._snapshots is not None and state.seq > self._kept:
            await asyncio.to_thread(self._keep, self._snapshots, state)
