"""Where every task of a plan is in its life."""

from dataclasses import replace

from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.progress import progress_of
from orchestrator.core.state import LotRecord, LotStatus, TaskStatus
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing, begun, planned


def test_progress_of_a_new_plan_is_all_waiting() -> None:
    state = planned()
    assert state.plan is not None
    progress = progress_of(state)
    assert progress.statuses == {task.id: TaskStatus.WAITING for task in state.plan.tasks}
    assert (progress.in_hand, progress.begun_work) == ((), ())


def test_progress_sorts_work_and_stays_by_what_has_happened() -> None:
    progress = progress_of(begun(base_ageing(), "B1.churn", "Thu 09:00"))
    assert {task.id for task in progress.in_hand} == {"B1.churn", "S1.age"}
    assert {task.id for task in progress.begun_work} == {"C1.cook", "C1.chill", "B1.churn", "S1.simmer", "S1.chill"}
    assert progress.statuses[TaskId("C1.age.B1")] is TaskStatus.DONE


def test_progress_of_a_discarded_lot_counts_as_no_work() -> None:
    gone = LotRecord(LotStatus.DISCARDED, at("Wed 12:00"), "fell")
    progress = progress_of(replace(planned(), lots={LotCode("C1"): gone}))
    assert "C1" not in {task.lot for task in progress.waiting_work}
    assert progress.statuses[TaskId("C1.cook")] is TaskStatus.WAITING


def test_progress_without_a_plan_is_empty() -> None:
    assert progress_of(replace(planned(), plan=None)).statuses == {}
