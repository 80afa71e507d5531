"""What finished curves show of a step's pace: once for each task, kept by place, forgotten with a start taken back."""

from dataclasses import replace

import pytest

from orchestrator.core.decide import decide
from orchestrator.core.errors import Refusal
from orchestrator.core.events import ActUndone, Event, Recorded, TaskStarted
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import CommandId, EquipmentId, RecipeId, StepId, TaskId
from orchestrator.core.pace_commands import RecordPace
from orchestrator.core.pace_events import PaceLearned
from orchestrator.core.paces import MOST_RUNS, earlier_runs
from orchestrator.core.state import State, TaskRecord, TaskStatus
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

KITCHEN = small_kitchen()
PLAN = small_plan(KITCHEN)
COOK = PLAN.task(TaskId("C1.cook"))
KEY = (EquipmentId("hob-1"), RecipeId("custard-base"), StepId("cook"))
BANDS = ((-4, 3.0), (-3, 2.8), (-2, 2.5), (-1, 2.2))


def _state(status: TaskStatus) -> State:
    record = TaskRecord(status=status, started_at=at("Wed 07:00"), equipment=COOK.equipment)
    return replace(State(seq=1, kitchen=KITCHEN, plan=PLAN), tasks={COOK.id: record})


def _command(task: str = "C1.cook") -> RecordPace:
    return RecordPace(
        command_id=CommandId(f"pace-{task}"),
        task=TaskId(task),
        equipment=KEY[0],
        reached_at=at("Wed 07:20"),
        target_c=82.0,
        bands=BANDS,
    )


def _learned(number: int, where: str = "hob-1", target_c: float = 82.0) -> PaceLearned:
    return PaceLearned(
        task=TaskId(f"C{number}.cook"), equipment=EquipmentId(where), recipe=KEY[1], step=KEY[2], at=at("Wed 07:20"),
        target_c=target_c, scale=1.0, bands=BANDS,
    )  # fmt: skip


def _after(state: State, *events: Event) -> State:
    for event in events:
        recorded = Recorded(seq=state.seq + 1, at=at("Wed 08:00"), command_id=CommandId(f"{state.seq}"), event=event)
        state = evolve(state, recorded)
    return state


def test_finished_curve_goes_on_record_once_with_the_scale_of_its_batch() -> None:
    state = _state(TaskStatus.IN_HAND)
    decided = decide(state, _command(), at("Wed 07:21"), {})
    assert not isinstance(decided, Refusal)
    learned = next(event for event in decided.events if isinstance(event, PaceLearned))
    scale = next(batch.scale for batch in PLAN.batches if batch.lot == COOK.lot)
    assert (learned.equipment, learned.recipe, learned.step, learned.scale) == (*KEY, scale)
    again = decide(_after(state, learned), _command(), at("Wed 07:22"), {})
    assert not isinstance(again, Refusal)
    assert not any(isinstance(event, PaceLearned) for event in again.events)


@pytest.mark.parametrize("status", [TaskStatus.WAITING, TaskStatus.SKIPPED])
def test_step_that_was_not_carried_out_shows_nothing(status: TaskStatus) -> None:
    assert isinstance(decide(_state(status), _command(), at("Wed 07:21"), {}), Refusal)
    assert isinstance(decide(_state(TaskStatus.DONE), _command("C9.cook"), at("Wed 07:21"), {}), Refusal)


def test_newest_runs_are_kept_by_place_and_the_own_one_is_none_of_the_earlier() -> None:
    state = _after(_state(TaskStatus.IN_HAND), *map(_learned, range(2, 2 + MOST_RUNS + 3)), _learned(90, "hob-2"))
    assert [run.task for run in state.paces[KEY]] == [f"C{n}.cook" for n in range(5, 5 + MOST_RUNS)]
    state = _after(state, _learned(1), _learned(40, target_c=75.0))
    earlier = earlier_runs(state, COOK, KEY[0], 82.0)
    assert [run.task for run in earlier] == [f"C{n}.cook" for n in range(7, 5 + MOST_RUNS)]
    assert len(earlier_runs(state, COOK, EquipmentId("hob-2"), 82.0)) == 1


def test_run_whose_start_was_taken_back_is_forgotten() -> None:
    state = State(seq=1, kitchen=KITCHEN, plan=PLAN)
    started = TaskStarted(task=COOK.id, at=at("Wed 07:00"), person=None, equipment=KEY[0])
    state = _after(state, started)
    seq = state.seq
    state = _after(state, _learned(1))
    assert len(state.paces[KEY]) == 1
    state = _after(state, ActUndone(act=seq, at=at("Wed 07:30"), person=None))
    assert state.paces[KEY] == ()
