"""Hours of every week on a screen: as they are, as they would be, and what cannot be."""

from datetime import date

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.views import CoreViews
from orchestrator.core.models.change_crew import WeeklyShifts
from orchestrator.core.models.kitchen import WeeklyShift
from tests.display.page import Page
from tests.display.test_crew_page import carried_out, only_change
from tests.display.test_desk_pages import text_of
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing

ROW = {"from-0": "05:00", "to-0": "13:00", "breaks-0": "9:00-9:30, 11:00 – 11:15", "days-0": ["mon", "wed"]}
SENT = {"since": "2026-11-27", **ROW}


@pytest.fixture
def gateway() -> KitchenGateway:
    return KitchenGateway(base_ageing(), at("Thu 07:10"))


@pytest.fixture
def client(gateway: KitchenGateway) -> FlaskClient:
    made = create_app(gateway, CoreViews()).web.test_client()
    made.set_cookie("person", "manager")
    return made


def test_week_page_begins_with_the_hours_that_are_worked_now(client: FlaskClient) -> None:
    text = client.get("/crew/early-cook/week").text
    assert 'name="since" value="2026-11-27"' in text
    assert 'id="from-0" name="from-0" value="06:00"' in text
    assert 'value="wed" checked' in text
    assert client.get("/crew/nobody/week").status_code == 404


def test_weekly_hours_are_shown_as_a_preview_and_hold_once_a_manager_says_so(
    client: FlaskClient, gateway: KitchenGateway
) -> None:
    answer = client.post("/crew/early-cook/week", data=SENT)
    assert only_change(answer.headers["Location"]) == WeeklyShifts(
        crew="early-cook",  # type: ignore[arg-type]
        since=date(2026, 11, 27),
        shifts=(WeeklyShift(days=("mon", "wed"), start="05:00", end="13:00", breaks=("09:00-09:30", "11:00-11:15")),),
    )
    assert "Early cook every week from Fri 27 Nov on: Mon 05:00 to 13:00, Wed 05:00 to 13:00" in text_of(
        Page(client.get(answer.headers["Location"]).text)
    )
    carried_out(client, answer.headers["Location"])
    assert gateway.state.kitchen is not None
    cook = next(member for member in gateway.state.kitchen.crew if member.id == "early-cook")
    coming = {gateway.state.kitchen.local(s.start).strftime("%a") for s in cook.shifts if s.start > at("Fri 00:00")}
    assert coming == {"Mon", "Wed"}
    assert 'id="from-0" name="from-0" value="05:00"' in client.get("/crew/early-cook/week").text


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"since": "27.11."}, "Write the day as 2026-11-28."),
        ({"since": "2026-11-25"}, "That day is over: 2026-11-26 or later."),
        ({"days-0": []}, "Say on which days."),
        ({"to-0": ""}, "Write both times like 06:00."),
        ({"breaks-0": "at ten"}, "Write breaks like 10:00-10:30"),
        ({"breaks-0": "20:00-20:30"}, "lies outside the shift"),
        ({"to-0": "04:00"}, "lasts 23 h"),
        ({"none": "1"}, "one of the two"),
        ({"days-0": [], "from-0": "", "to-0": "", "breaks-0": ""}, "No hours are given"),
    ],
)
def test_hours_that_cannot_be_come_back_as_they_were_typed_with_what_is_wrong(
    client: FlaskClient, changed: dict[str, object], says: str
) -> None:
    answer = client.post("/crew/early-cook/week", data={**SENT, **changed})
    assert answer.status_code == 422
    assert says in text_of(Page(answer.text))
    assert f'name="since" value="{changed.get("since", "2026-11-27")}"' in answer.text


def test_no_shifts_any_more_is_said_in_so_many_words(client: FlaskClient) -> None:
    answer = client.post("/crew/early-cook/week", data={"since": "2026-11-27", "none": "1"})
    text = text_of(Page(client.get(answer.headers["Location"]).text))
    assert "Early cook has no shifts from Fri 27 Nov on" in text
