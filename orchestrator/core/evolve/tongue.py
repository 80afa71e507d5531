"""What somebody chose of language, clock and amounts, and what translations do."""

from dataclasses import replace

from orchestrator.core.state import State
from orchestrator.core.tongue_events import TongueEvent, WaysChosen


def apply(state: State, event: TongueEvent) -> State:
    """The kitchen with it."""
    if state.kitchen is None:
        return state
    if isinstance(event, WaysChosen):
        crew = tuple(
            member.model_copy(update={"ways": event.ways}) if member.id == event.person else member
            for member in state.kitchen.crew
        )
        return replace(state, kitchen=state.kitchen.model_copy(update={"crew": crew}))
    return replace(state, kitchen=state.kitchen.model_copy(update={"texts": event.texts}))
