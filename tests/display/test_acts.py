"""Forms become commands, and outcomes become sentences."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from flask.testing import FlaskClient

from display.acts import ACTS
from display.app import create_app
from orchestrator.core.commands import (
    DecideLot,
    DecidePlan,
    EnterTemperature,
    EnterWeight,
    ExtendTask,
    FinishTask,
    FinishTray,
    ReportProblem,
    SkipTask,
    StartTask,
    StopMachine,
    Undo,
)
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CrewId
from orchestrator.core.models import Measure
from orchestrator.core.recipe_commands import ComeIn
from orchestrator.core.state import Act, TaskRecord, TaskStatus
from tests.display.page import Page
from tests.fakes import canned
from tests.fakes.gateway import FakeGateway
from tests.fakes.kitchens import small_kitchen
from tests.fakes.plans import small_plan

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
    came, started = gateway.submitted  # picking oneself in one's shift says that one is here
    assert isinstance(came, ComeIn)
    assert started == StartTask(command_id="tap-1", person="early-cook", task="B2.blend")  # type: ignore[arg-type]


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
        ("weight", {"weight": "3,85"}, EnterWeight(command_id="x", task="T", kilograms=3.85)),  # type: ignore[arg-type]
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
        ("extend", {"task": "T", "minutes": "1.5"}, "Minutes: '1.5' is not a whole number.", "such as 10"),
        ("temperature", {"task": "T", "temperature": "nan"}, "Temperature: 'nan' cannot be.", "Between -60 and 300."),
        ("finish", {"task": "T", "measure": "count", "measured": "3.5"}, "'3.5' is not a whole number.", "such as 52"),
        ("finish", {"task": "T", "measure": "brix", "measured": "285"}, "'285' cannot be.", "Between 0 and 100."),
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


def test_tap_on_a_task_that_another_finished_says_so_kindly(client: FlaskClient, gateway: FakeGateway) -> None:
    task, at_ = small_plan(small_kitchen()).tasks[0], canned.later(-1)
    record = TaskRecord(TaskStatus.DONE, started_at=canned.later(-50), finished_at=at_)
    acts = (Act(40, "finished", task.id, CrewId("late-cook"), at_, {}),)
    state = replace(gateway.snapshot().state, tasks={task.id: record}, acts=acts)
    gateway.set_snapshot(state=state)
    gateway.answer = Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status="done", remedy="take back its end")
    for act in ("finish", "start", "tray", "extend"):
        answer = client.post(f"/acts/{act}", data={"task": task.id, "pieces": "8", "minutes": "5"}, headers=JSON).json
        assert answer is not None
        assert (answer["outcome"], answer["says"], answer["remedy"]) == (
            "done",
            f"Late cook finished this at 09:41: {task.title}.",
            "Your tap was not needed; nothing is counted twice.",
        )


def test_tap_on_a_step_that_left_the_plan_says_where_to_look(client: FlaskClient, gateway: FakeGateway) -> None:
    gateway.answer = Refusal(code=RefusalCode.UNKNOWN, thing="Z9.cook", status="not in the present plan", remedy="-")
    answer = client.post("/acts/start", data={"task": "Z9.cook"}, headers=JSON).json
    assert answer is not None
    assert (answer["says"], answer["remedy"]) == (
        "This step is no longer in the plan.",
        "The plan has changed meanwhile: go back to the station and look there.",
    )


def test_ticked_gates_go_with_the_start(client: FlaskClient, gateway: FakeGateway) -> None:
    client.post("/acts/start", data={"task": "B1.churn", "checked": ["Churn cold", "Tubs cold"]}, headers=JSON)
    command = gateway.submitted[-1]
    assert isinstance(command, StartTask)
    assert command.checked == ("Churn cold", "Tubs cold")


def test_every_act_has_words_for_its_outcome() -> None:
    from display.words import TABLES

    assert {f"done_{name}" for name in ACTS} <= set(TABLES["en"])
