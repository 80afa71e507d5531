"""What the trade asks of sizes, hands and hand-overs, in kitchens small enough to reckon by hand."""

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.core.quantities import Unit
from orchestrator.planner.demand import explode
from orchestrator.planner.sizes import SizeRange, split
from tests.fakes.tiny import at, shifts, tiny_data, tiny_request
from tests.planner.planned import planned


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.floats(0.1, 60), st.floats(0.5, 4), st.floats(0.5, 4))
def test_runs_hold_between_least_and_most_are_as_few_as_can_be_and_enough(total: float, least: float, more: float):
    most = least + more
    runs = split(total, SizeRange(least, most), Unit.LITRE)
    assert all(least - 1e-9 <= run <= most + 1e-9 for run in runs)
    assert sum(runs) >= total - 1e-6
    assert (len(runs) - 1) * most < total


@pytest.mark.parametrize("litres", [0.5, 4.7, 4.9, 6.0, 9.7, 14.5, 23.0])
def test_every_run_of_the_churn_has_its_least_and_no_more_than_it_holds(litres: float):
    data = tiny_data()
    data["orders"][0]["lines"][0]["quantity"] = f"{litres} L"
    churns = [spec.load for spec in explode(tiny_request(data)).specs if spec.process == "churn"]
    # 0.2 L stay in the churn, which holds 5 L of mix and draws air below 2 L; 4.9 L are two runs, not 4.8 and 0.1.
    assert all(2.0 - 1e-6 <= load <= 5.0 + 1e-6 for load in churns)
    # Together they make what is wanted, in as few runs of at most 4.8 L as can be.
    assert sum(load - 0.2 for load in churns) >= litres - 1e-6
    assert len(churns) == -(-round(litres * 10) // 48)


def test_trays_shaped_hot_are_one_task_with_a_count():
    data = tiny_data()
    churn = data["recipes"][1]["steps"][0]
    churn.pop("duration")
    churn["cycle"] = {"pieces": 1, "each": 7}
    plan = planned(tiny_request(data))
    task = plan.task("B1.churn")
    # 4.2 come out, one a tray: five trays of seven minutes, somebody's hands all the while.
    assert task.end - task.start == timedelta(minutes=35)
    assert [(span.start, span.end) for span in task.spans] == [(task.start, task.end)]


def test_step_of_two_waits_until_two_are_there():
    data = tiny_data()
    data["recipes"][0]["steps"][0]["hands"] = 2
    helper = {"id": "helper", "name": "Helper", "skills": ["cook"], "shifts": shifts("12:30", "16:00")}
    data["crew"].append(helper)
    cook = planned(tiny_request(data)).task("C1.cook")
    # The early cook leaves at 14:00 and the helper comes at 12:30.
    assert {who for span in cook.spans for who in span.crew} == {"early-cook", "helper"}
    assert cook.start.hour + cook.start.minute / 60 >= 12.5
    assert cook.end.hour + cook.end.minute / 60 <= 14


@pytest.mark.parametrize(
    ("earliest", "soonest", "latest"),
    [
        pytest.param(None, at(3, "08:00"), at(3, "11:00"), id="in the last three hours, if nothing is said"),
        pytest.param(at(3, "10:40"), at(3, "10:40"), at(3, "11:00"), id="not before the earliest"),
    ],
)
def test_order_is_handed_over_between_its_earliest_and_latest(earliest: Any, soonest: Any, latest: Any):
    data = tiny_data()
    data["orders"][0]["earliest"] = earliest
    task = planned(tiny_request(data)).task("SAT-STALL.B.hand-over")
    assert soonest <= task.end <= latest
