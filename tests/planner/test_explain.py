"""Reasons in plain words: which machine, person or window stands in the way."""

from orchestrator.core.models import Stop
from orchestrator.planner.plan import make_plan
from tests.fakes.tiny import at, tiny_data, tiny_request


def reason(*, age_min: int = 720, **told: object) -> str:
    data = tiny_data()
    data["orders"][0]["due"] = at(1, "08:00")
    data["recipes"][0]["steps"][1]["stay"]["least"] = age_min
    plan = make_plan(tiny_request(data, **told), effort="repair", seconds=1).plan
    assert plan is not None
    assert plan.outlooks[0].late_min > 0
    return plan.outlooks[0].reason


def test_why_late_names_the_shift_that_nobody_works() -> None:
    assert reason() == (
        "'Churn basil custard' (B1) waits for people until Thu 26 Nov 06:00: too few with the skill churn are there "
        "before; then 'Harden basil custard' (B1) takes at least 4 h"
    )


def test_why_late_names_the_machine_that_is_stopped() -> None:
    stop = Stop(equipment="churn", start=at(0, "06:00"), end=at(1, "09:00"))
    assert reason(stops=(stop,)) == (
        "'Churn basil custard' (B1) waits for the Churn (stopped) until Thu 26 Nov 09:00; "
        "then 'Harden basil custard' (B1) takes at least 4 h"
    )


def test_why_late_names_the_present_when_there_is_no_time_left() -> None:
    assert reason(age_min=60, now=at(1, "07:00")) == (
        "'Cook the custard base' (C1) cannot start before now, Thu 26 Nov 07:00; "
        "then 'Harden basil custard' (B1) takes at least 4 h and 'Age the base' (C1) takes at least 1 h"
    )
