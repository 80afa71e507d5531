"""What finished curves and acts taken back change about what is known of a step's pace."""

from dataclasses import replace

from orchestrator.core.pace_events import PaceLearned
from orchestrator.core.paces import MOST_RUNS, key_of
from orchestrator.core.state import State, TaskStatus


def apply(state: State, event: PaceLearned) -> State:
    """One more run, in place of what was known of the same task."""
    key = key_of(event.equipment, event.recipe, event.step)
    others = tuple(run for run in state.paces.get(key, ()) if run.task != event.task)
    return replace(state, paces={**state.paces, key: (*others, event)[-MOST_RUNS:]})


def forget_taken_back(before: State, state: State) -> State:
    """A run whose start was taken back was none; ``before`` it was."""

    def stands(run: PaceLearned) -> bool:
        # A task that no plan names any more was carried out long ago.
        begun = run.task in before.tasks and before.record(run.task).status is not TaskStatus.WAITING
        return not begun or state.record(run.task).status is not TaskStatus.WAITING

    kept = {key: tuple(filter(stands, runs)) for key, runs in state.paces.items()}
    return state if kept == state.paces else replace(state, paces=kept)
