"""Alarms on the desk: reasons in words, how long, until when, which orders, the instant that still saves it."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from display.alarm_codes import CODES
from display.alarm_words import lines, why
from display.app import create_app
from display.pages.home import pace
from display.panels import Showing
from display.reader import Reader
from display.views import CoreViews
from orchestrator.core.ids import AlarmId, EquipmentId, OrderId, TaskId
from orchestrator.core.models import WindowClass
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmKind, AlarmStatus, Help, Priority
from orchestrator.core.models.questions import LatestReturn
from orchestrator.core.state import Instants
from tests.display.test_desk_pages import quiet

NOW = quiet().now


def showing(instants: Instants | None = None) -> Showing:
    gateway = quiet()
    gateway.state = replace(gateway.state, instants=instants)
    app = create_app(gateway, CoreViews())
    return Showing(gateway, CoreViews(), gateway.snapshot(), Reader(), app.web.jinja_env)


def alarm(**facts: Any) -> Alarm:
    given = {"kind": AlarmKind.WINDOW_CLOSING, "priority": Priority.WARNING, **facts}
    return Alarm(
        id=AlarmId("a"),
        facts=AlarmFacts.model_validate(given),
        status=AlarmStatus.UNACKNOWLEDGED,
        raised_at=NOW - timedelta(minutes=20),
    )


def told(instants: Instants | None = None, **facts: Any) -> dict[str, str]:
    said = lines(showing(instants), alarm(**facts))
    return {line.head: line.says.replace("\u00a0", " ").replace("\u202f", " ") for line in said}


@pytest.mark.parametrize("code", sorted(CODES | set(WindowClass)))
def test_reason_that_is_a_code_is_told_as_a_sentence(code: str) -> None:
    says = why(showing(), code)
    assert says != code
    assert len(says.split()) >= 5


def test_alarm_tells_how_long_until_when_and_the_latest_instant_that_saves_it() -> None:
    found = told(
        limit_at=NOW + timedelta(minutes=40),
        expected_at=NOW + timedelta(minutes=55),
        save_by=NOW + timedelta(minutes=10),
        helps=(Help.CALL_HANDS,),
        reason="belt slips",
    )
    assert found["How long"] == "Since 14:40 (20 min)"
    assert found["Latest"] == "15:40, in 40 min"
    assert found["Expected"] == "15:55, 15 min too late"
    assert found["Still saved by"] == "15:10, in 10 min"
    assert found["What helps"] == "Call another pair of hands"
    assert found["Why"] == "belt slips"


def test_alarm_of_a_passed_limit_says_by_how_much_and_promises_nothing() -> None:
    found = told(limit_at=NOW - timedelta(minutes=5), missed=True, save_by=NOW - timedelta(minutes=30))
    assert found["Latest"] == "14:55, over by 5 min"
    assert found["Still saved by"] == "that instant has passed"


def test_stopped_machine_tells_what_each_return_saves_and_what_none_does() -> None:
    churn, later = EquipmentId("churn"), NOW + timedelta(hours=1)
    found = Instants(
        NOW,
        {},
        (
            LatestReturn(equipment=churn, order=OrderId("SUN-CAFE"), at=None),
            LatestReturn(equipment=churn, order=OrderId("SAT-STALL"), at=later),
            LatestReturn(equipment=churn, task=TaskId("B1.churn"), at=later),
            LatestReturn(equipment=EquipmentId("hob-1"), order=OrderId("SUN-CAFE"), at=later),
        ),
    )
    said = told(found, kind=AlarmKind.MACHINE_STOPPED, equipment=churn)
    assert said["Back by 16:00"] == "SAT-STALL, Churn basil custard (B1)"
    assert said["No return found that saves"] == "SUN-CAFE"
    assert not [head for head in told(found, equipment=churn) if "Back" in head]


def test_stopped_machine_without_a_known_end_says_that_nobody_has_said() -> None:
    back = NOW + timedelta(minutes=90)
    assert told(kind=AlarmKind.MACHINE_STOPPED, expected_at=back, assumed=True)["Expected"] == (
        "Taken to be back 16:30; nobody has said"
    )
    assert told(kind=AlarmKind.MACHINE_STOPPED, expected_at=back)["Expected"] == "16:30"


def test_delivery_that_nobody_has_received_is_taken_to_come_not_to_be_back() -> None:
    later = NOW + timedelta(minutes=90)
    assert told(kind=AlarmKind.DELIVERY_OVERDUE, expected_at=later, assumed=True)["Expected"] == (
        "Taken to come 16:30; nobody has said"
    )


def test_silent_probe_never_shows_its_old_number_as_of_now() -> None:
    assert told(kind=AlarmKind.PROBE_SILENT, celsius=1.9)["Temperature"] == "last heard 1.9 °C"
    assert told(kind=AlarmKind.STORE_WARM, celsius=6.1)["Temperature"] == "6.1 °C when last told"


def test_orders_touched_are_named_with_customer_and_due() -> None:
    kitchen = showing().kitchen
    order = kitchen.orders[0]
    (says,) = [says for head, says in told(orders=(OrderId(order.id),)).items() if head == "Orders touched"]
    assert order.customer in says
    assert "due" in says


@pytest.mark.parametrize(
    ("rate", "says"),
    [
        (0, "paused"),
        (1, "runs as in real life"),
        (62, "one kitchen hour passes in 58 s"),
        (10, "one kitchen hour passes in 6 min"),
    ],
)
def test_pace_of_the_clock_is_told_in_plain_words(rate: float, says: str) -> None:
    picture = showing()
    object.__setattr__(picture.snapshot, "rate", rate)
    assert pace(picture).replace("\u202f", " ").replace("\u00a0", " ") == says


@pytest.mark.parametrize(
    ("missed", "cold", "head"),
    [
        (True, True, "Fridge too cold: −1.2 °C"),
        (False, True, "Fridge getting too cold: −1.2 °C"),
        (True, False, "Fridge too warm: −1.2 °C"),
    ],
)
def test_store_below_its_temperatures_is_not_said_to_be_warm(missed: bool, cold: bool, head: str) -> None:
    given = {"kind": AlarmKind.STORE_WARM, "missed": missed, "title": "Fridge", "celsius": -1.2, "too_cold": cold}
    says = showing().sentences.alarm_head(alarm(**given).facts)
    assert says.replace("\u00a0", " ").replace("\u202f", " ") == head
