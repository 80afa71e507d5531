"""Reasons in plain words: which machine, person or window stands in the way."""

from pathlib import Path

from orchestrator.core.models import Stop
from orchestrator.planner.plan import make_plan
from tests.fakes.tiny import at, tiny_data, tiny_request
from tests.planner.by_hand import at as clock
from tests.planner.by_hand import hands, kitchen, machine, order, recipe, step
from tests.planner.planned import planned


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


def test_why_unmet_names_the_warm_food_where_the_freezer_has_room(tmp_path: Path) -> None:
    # Two batches of 3 L go into 10 L. Alone each is frozen in 4 h, together in 8; at noon the freezer is switched off.
    off = {"start": clock("12:00"), "end": clock("1 06:00")}
    freezer = machine(
        "blast", "blast", capacity="10 L", shared=True, heat={"alone": "5 L", "crowded": 2}, maintenance=[off]
    )
    give = step("give", 10, station="bench", per="order", **hands(skill="serve"))
    jam = recipe("jam", "J", [step("freeze", 240, process="harden", equipment="blast", load="4 L"), give])
    gel = {**jam, "id": "gel", "name": "Gel", "code": "G"}
    orders = [order("12:30", ("jam", "3 L"), name="A"), order("13:00", ("gel", "3 L"), name="B")]
    plan = planned(kitchen(tmp_path, [freezer], [jam, gel], orders, days=1))
    reasons = [outlook.reason for outlook in plan.outlooks if not outlook.met]
    assert reasons == [
        "too much warm food in the blast for 'freeze it' (J1) between Wed 25 Nov 06:00 and Thu 26 Nov 01:50: "
        "it would take longer to freeze than there is"
    ]
