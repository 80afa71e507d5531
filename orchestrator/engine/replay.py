"""State from the log: what was done before the last stop, rebuilt event by event."""

from collections.abc import Callable

from orchestrator.core.events import Recorded
from orchestrator.core.state import State
from orchestrator.ports.event_log import EventLog, LogUnavailable


def replay(log: EventLog, evolve: Callable[[State, Recorded], State], begin: State | None = None) -> State:
    """Rebuild the state from every record of the log, or from those after a state that was kept.

    Returns:
        The state after the last record; the empty state for an empty log.

    Raises:
        LogUnavailable: the log cannot be read, or a record is missing from it.
    """
    state = begin or State()
    for record in log.read(state.seq):
        if record.seq != state.seq + 1:
            raise LogUnavailable(
                f"the event log jumps from record {state.seq} to {record.seq}: it is damaged; "
                "restore the last backup of the data folder"
            )
        state = evolve(state, record)
    return state
