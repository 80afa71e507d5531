"""What a plan fixes about each task, read off the small plan by hand."""

from datetime import timedelta

from orchestrator.core.ids import TaskId
from orchestrator.core.models import WindowBreak, WindowClass
from orchestrator.core.ties import Tied, tied
from tests.fakes.plans import small_plan

CHURN, AGE = TaskId("B1.churn"), TaskId("C1.age.B1")


def the(task: str) -> Tied:
    return tied(small_plan())[TaskId(task)]


def test_tie_to_a_joined_stay_counts_from_its_start_by_its_own_window() -> None:
    (tie,) = the("B1.churn").ties
    # The custard base ages 12 to 72 h, a safety window; the link itself says: at once.
    assert (tie.before.id, tie.joins, tie.cls) == ("C1.age.B1", True, WindowClass.SAFETY)
    assert (tie.least, tie.most) == (timedelta(hours=12), timedelta(hours=72))


def test_tie_to_work_counts_from_its_end_by_the_link() -> None:
    (tie,) = the("C1.chill").ties
    assert (tie.before.id, tie.joins, tie.cls) == ("C1.cook", False, WindowClass.SAFETY)
    assert (tie.least, tie.most, tie.wait) == (timedelta(0), timedelta(minutes=15), timedelta(0))


def test_tie_that_the_plan_openly_breaks_waits_by_so_much_less() -> None:
    broken = WindowBreak(task=CHURN, after=AGE, window=WindowClass.QUALITY, side="too early", minutes=90, reason="x")
    plan = small_plan().model_copy(update={"breaks": (broken,)})
    (tie,) = tied(plan)[CHURN].ties
    assert (tie.least, tie.wait) == (timedelta(hours=12), timedelta(hours=10, minutes=30))


def test_tied_stay_knows_what_fills_and_takes_it() -> None:
    stay = the("C1.age.B1")
    assert (stay.filler, stay.takers) == ("C1.chill", ("B1.churn",))


def test_tied_task_that_follows_what_is_no_longer_planned_is_dangling() -> None:
    plan = small_plan()
    without = plan.model_copy(update={"tasks": tuple(t for t in plan.tasks if t.id != "C1.cook")})
    assert (tied(without)[TaskId("C1.chill")].ties, tied(without)[TaskId("C1.chill")].dangling) == ((), True)
    assert not the("C1.chill").dangling


def test_tied_clean_down_needs_hands_throughout() -> None:
    assert the("churn.clean.S1").portions == ((timedelta(0), timedelta(minutes=20)),)


def test_tied_same_plan_gets_the_same_answer() -> None:
    plan = small_plan()
    assert tied(plan) is tied(plan)
