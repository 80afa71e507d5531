"""Forms become commands, and outcomes become sentences."""

from datetime import UTC, datetime

import pytest
from flask.testing import FlaskClient

from display.acts import ACTS
from display.app import create_app
from orchestrator.core.commands import (
    DecideLot,
    DecidePlan,
    EnterTemperature,
    ExtendTask,
    FinishTask,
    FinishTray,
    ReportProblem,
    SkipTask,
    StartTask,
    StopMachine,
    Undo,
)
from orchestrator.core.models import Measure
from tests.display.page import Page
from tests.fakes.gateway import FakeGateway
from tests.fakes.kitchens import small_kitchen

JSON = {"Accept": "application/json"}


@pytest.fixture
def gateway() -> FakeGateway:
    return FakeGateway()


@pytest.fixture
def client(gateway: FakeGateway) -> FlaskClient:
    return create_app(gateway, gateway).web.test_client()


def test_start_form_becomes_the_command_with_person_and_id(client: FlaskClient, gateway: FakeGateway) -> None:
    client.post("/person", data={"person": "early-cook"})
    answer = client.post("/acts/start", data={"task": "B2.blend", "command_id": "tap-1"}, headers=JSON)
    assert (answer.status_code, answer.json) == (200, {"outcome": "done", "says": "Started", "remedy": "", "more": ""})
    assert gateway.submitted == [StartTask(command_id="tap-1", person="early-cook", task="B2.blend")]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("act", "fields", "expected"),
    [
        (
            "finish",
            {"measure": "volume_l", "measured": "4,8"},
            FinishTask(command_id="x", task="T", measured={Measure.VOLUME_L: 4.8}),
        ),  # type: ignore[arg-type]
        ("tray", {"pieces": "9"}, FinishTray(command_id="x", task="T", pieces=9)),  # type: ignore[arg-type]
        ("extend", {"minutes": "15"}, ExtendTask(command_id="x", task="T", minutes=15)),  # type: ignore[arg-type]
        (
            "problem",
            {"what": "machine", "text": "it rattles", "hold_lot": "yes"},
            ReportProblem(command_id="x", task="T", what="machine", text="it rattles", hold_lot=True),
        ),  # type: ignore[arg-type]
        ("skip", {"reason": "no peel"}, SkipTask(command_id="x", task="T", reason="no peel")),  # type: ignore[arg-type]
        ("temperature", {"temperature": "−18.5"}, EnterTemperature(command_id="x", task="T", celsius=-18.5)),  # type: ignore[arg-type]
        ("undo", {"act": "41"}, Undo(command_id="x", act=41)),  # type: ignore[arg-type]
        (
            "lot",
            {"lot": "B1", "decision": "discard", "reason": "too warm"},
            DecideLot(command_id="x", lot="B1", decision="discard", reason="too warm"),
        ),  # type: ignore[arg-type]
        ("plan", {"proposal": "7", "adopt": "no"}, DecidePlan(command_id="x", proposal=7, adopt=False)),  # type: ignore[arg-type]
        (
            "stop",
            {"equipment": "churn", "until": "2026-07-01T14:10"},
            StopMachine(command_id="x", equipment="churn", until=datetime(2026, 7, 1, 13, 10, tzinfo=UTC)),
        ),  # type: ignore[arg-type]
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_form_becomes_its_command(
    client: FlaskClient, gateway: FakeGateway, act: str, fields: dict[str, str], expected: object
) -> None:
    gateway.answer = TimeoutError()
    client.post(f"/acts/{act}", data={"task": "T", "command_id": "x", **fields}, headers=JSON)
    assert gateway.submitted == [expected]


@pytest.mark.parametrize(
    ("act", "fields", "says", "remedy"),
    [
        ("start", {}, "Task is missing.", "Fill it in"),
        ("extend", {"task": "T", "minutes": "soon"}, "Minutes: 'soon' is not a number.", "such as 10"),
        ("extend", {"task": "T", "minutes": "2000"}, "Minutes: '2000' cannot be.", "Between 1 and 1440."),
        ("extend", {"task": "T", "minutes": "1.5"}, "Minutes: '1.5' is not a number.", "such as 10"),
        ("temperature", {"task": "T", "temperature": "nan"}, "Temperature: 'nan' cannot be.", "Between -60 and 300."),
        ("problem", {"task": "T", "what": "ghosts"}, "What is wrong: 'ghosts' is not one", "quality, temperature"),
        ("skip", {"task": "T", "reason": " "}, "Reason is missing.", "Fill it in"),
        ("skip", {"task": "T", "reason": "x" * 501}, "Reason: ", "Between 0 and 500."),
        (
            "stop",
            {"equipment": "churn", "until": "later"},
            "Until: 'later' is not a date and time.",
            "2026-11-28T09:30",
        ),
    ],
)
def test_bad_form_names_the_field_and_the_remedy(
    client: FlaskClient, gateway: FakeGateway, act: str, fields: dict[str, str], says: str, remedy: str
) -> None:
    answer = client.post(f"/acts/{act}", data=fields, headers=JSON)
    assert answer.status_code == 400
    assert answer.json is not None
    assert says in answer.json["says"]
    assert remedy in answer.json["remedy"]
    assert gateway.submitted == []


def test_refused_act_goes_back_to_its_page_with_sentence_and_remedy(client: FlaskClient) -> None:
    data = {"task": "B1.churn"}
    answer = client.post("/acts/start", data=data, headers={"Referer": "http://localhost/station/stove"})
    assert (answer.status_code, answer.headers["Location"]) == (303, "/station/stove")
    text = Page(client.get("/station/stove").text).text
    assert "Not done. Churn basil custard: Base at most 4 °C: now 6.2 °C." in text
    assert "a named person gives a reason." in text
    assert "Not done" not in client.get("/station/stove").text  # said once


def test_act_never_redirects_to_another_site(client: FlaskClient) -> None:
    data = {"task": "B2.blend", "back": "http://evil.example/station/stove"}
    assert client.post("/acts/start", data=data).headers["Location"] == "/"
    data = {"task": "B2.blend", "back": "//evil.example/x"}
    assert client.post("/acts/start", data=data).headers["Location"] == "/"


def test_late_answer_says_that_tapping_again_is_harmless(client: FlaskClient, gateway: FakeGateway) -> None:
    gateway.answer = TimeoutError()
    answer = client.post("/acts/start", data={"task": "B2.blend"}, headers=JSON)
    assert answer.status_code == 504
    assert answer.json is not None
    assert answer.json["remedy"] == "Tap again: the same tap is never counted twice."


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Referer": "http://evil.example/x"}, 403),
        ({"Origin": "http://localhost"}, 303),
        ({"Sec-Fetch-Site": "same-origin"}, 303),
        ({}, 303),
    ],
)
def test_acts_from_other_sites_are_refused(
    client: FlaskClient, gateway: FakeGateway, headers: dict[str, str], status: int
) -> None:
    answer = client.post("/acts/start", data={"task": "B2.blend"}, headers=headers)
    assert answer.status_code == status
    assert len(gateway.submitted) == (0 if status == 403 else 1)


def test_unknown_act_is_said_to_be_unknown(client: FlaskClient) -> None:
    assert client.post("/acts/dance", data={}, headers=JSON).status_code == 404


def test_fahrenheit_kitchen_reads_what_is_typed_in_fahrenheit(client: FlaskClient, gateway: FakeGateway) -> None:
    state = gateway.snapshot().state
    gateway.set_snapshot(state=type(state)(kitchen=small_kitchen(temperature_unit="F"), plan=state.plan))
    client.post("/acts/temperature", data={"task": "T", "temperature": "39.2"}, headers=JSON)
    command = gateway.submitted[0]
    assert isinstance(command, EnterTemperature)
    assert command.celsius == pytest.approx(4.0)
    assert "165.9" not in client.get("/station/stove").text
    assert "166.3" in client.get("/station/stove").text  # 74.6 °C


def test_person_is_picked_from_the_crew_and_shown(client: FlaskClient) -> None:
    page = Page(client.get("/person?back=/station/stove").text)
    assert page.form("/person").buttons[0].startswith("Early cook")
    answer = client.post("/person", data={"person": "early-cook", "back": "/station/stove"})
    assert answer.headers["Location"] == "/station/stove"
    assert "Early cook" in Page(client.get("/station/stove").text).links
    assert client.post("/person", data={"person": "somebody-else"}).status_code == 404


def test_every_act_has_words_for_its_outcome() -> None:
    from display.words import TABLES

    assert {f"done_{name}" for name in ACTS} <= set(TABLES["en"])
