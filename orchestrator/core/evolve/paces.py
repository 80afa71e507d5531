"""What finished curves and acts taken back change about what is known of a step's pace."""

from dataclasses import replace

from orchestrator.core.pace_events import PaceLearned, ReductionLearned
from orchestrator.core.paces import MOST_RUNS, key_of
from orchestrator.core.state import State, TaskStatus


def apply(state: State, event: PaceLearned | ReductionLearned) -> State:
    """One more run, in place of what was known of the same task."""
    key = key_of(event.equipment, event.recipe, event.step)
    if isinstance(event, ReductionLearned):
        weighed = tuple(run for run in state.reductions.get(key, ()) if run.task != event.task)
        return replace(state, reductions={**state.reductions, key: (*weighed, event)[-MOST_RUNS:]})
    others = tuple(run for run in state.paces.get(key, ()) if run.task != event.task)
    return replace(state, paces={**state.paces, key: (*others, event)[-MOST_RUNS:]})


def forget_taken_back(before: State, state: State) -> State:
    """A run whose start was taken back was none, nor is one by weight whose end was; ``before`` they were."""

    def stands(run: PaceLearned) -> bool:
        # A task that no plan names any more was carried out long ago.
        begun = run.task in before.tasks and before.record(run.task).status is not TaskStatus.WAITING
        return not begun or state.record(run.task).status is not TaskStatus.WAITING

    def ended(run: ReductionLearned) -> bool:
        done = run.task in before.tasks and before.record(run.task).status is TaskStatus.DONE
        return not done or state.record(run.task).status is TaskStatus.DONE

    kept = {key: tuple(filter(stands, runs)) for key, runs in state.paces.items()}
    weighed = {key: tuple(filter(ended, runs)) for key, runs in state.reductions.items()}
    if kept == state.paces and weighed == state.reductions:
        return state
    return replace(state, paces=kept, reductions=weighed)
