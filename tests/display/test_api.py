"""The interface for programs: every resource fits the document, every refusal is a problem after RFC 9457."""

from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator

from display.api.openapi import document
from display.api.resources import RESOURCES
from display.app import create_app
from display.views import CoreViews
from orchestrator.core.ids import CrewId, DeviationId, LotCode, TaskId
from orchestrator.core.lot_events import DeviationOpened
from orchestrator.core.models.deviation import DeviationFacts
from orchestrator.core.models.explanation import Hold, HoldKind, WhyNot
from orchestrator.core.models.outcome import Outcome, comparison
from orchestrator.core.models.questions import RiskAnswer, WhatIfAnswer, WhatIfQuestion, WhyAnswer, WhyQuestion
from orchestrator.core.models.risk import ASSUMES, Risk
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing

DOCUMENT = document("1.2.3")
HELD = Hold(kind=HoldKind.SHIFT, says="nobody is there before", task=TaskId("B1.churn"), crew=(CrewId("early-cook"),))
WHY = WhyAnswer(task=TaskId("B1.churn"), earlier=WhyNot(holds=(HELD,)), later=WhyNot(holds=(HELD,)))
RISK = RiskAnswer(risk=Risk(runs=100, seed=0, orders=(), windows=(), assumes=ASSUMES))
NAMES = {"station": "stove", "task": "B1.churn", "probe": "fridge-air", "deviation": "DEV-1"}


@pytest.fixture
def gateway() -> KitchenGateway:
    gateway = KitchenGateway(base_ageing(), at("Wed 15:00"))
    gateway.answers = {"why": WHY, "risk": RISK}
    doubt = DeviationFacts(cause="problem", safety=False, reason="smells odd", lots=(LotCode("C1"),))
    gateway.happen(DeviationOpened(deviation=DeviationId("DEV-1"), at=at("Wed 14:00"), facts=doubt))
    return gateway


@pytest.fixture
def client(gateway: KitchenGateway) -> FlaskClient:
    return create_app(gateway, CoreViews()).web.test_client()


def _schema(path: str) -> dict[str, Any]:
    answer = DOCUMENT["paths"][path]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
    return {**answer, "components": DOCUMENT["components"]}


@pytest.mark.parametrize("path", [r.path for r in RESOURCES])
def test_every_resource_answers_as_the_document_says(path: str, client: FlaskClient) -> None:
    answer = client.get("/api/v1" + path.format(**NAMES))
    assert (answer.status_code, answer.mimetype) == (200, "application/json")
    Draft202012Validator(_schema(path)).validate(answer.json)


def test_document_is_served(client: FlaskClient) -> None:
    assert client.get("/api/v1/openapi.json").json["openapi"] == "3.1.0"


def test_act_is_accepted_with_the_number_of_its_event(client: FlaskClient, gateway: KitchenGateway) -> None:
    act = {"kind": "stop_machine", "command_id": "a-1", "equipment": "churn", "person": "early-cook"}
    answer = client.post("/api/v1/commands", json=act)
    assert (answer.status_code, answer.json) == (200, {"seq": gateway.state.seq})


@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("/stations/nowhere", "no station 'nowhere'; there are stove, counter"),
        ("/tasks/X9.churn", "no task 'X9.churn' in the plan; see /api/v1/plan"),
        ("/probes/thumb/readings", "no probe 'thumb'; there are hob-1-core, ice-bath-core, fridge-air, freezer-air"),
        ("/spoons", "There is no /api/v1/spoons."),
    ],
)
def test_what_is_not_there_is_a_problem_that_names_what_is(path: str, says: str, client: FlaskClient) -> None:
    answer = client.get("/api/v1" + path)
    assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")
    assert (answer.json["detail"], answer.json["status"]) == (says, 404)


def test_refused_act_names_thing_status_and_remedy(client: FlaskClient) -> None:
    act = {"kind": "start_task", "command_id": "a-2", "task": "B1.brew"}
    answer = client.post("/api/v1/commands", json=act)
    assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")
    assert {k: answer.json[k] for k in ("type", "thing", "present_status", "remedy")} == {
        "type": "/problems/unknown",
        "thing": "B1.brew",
        "present_status": "not in the present plan",
        "remedy": "a task of the present plan",
    }


def test_act_that_does_not_fit_names_every_place(client: FlaskClient) -> None:
    answer = client.post("/api/v1/commands", json={"kind": "extend_task", "task": 7, "minutes": 0})
    assert answer.status_code == 422
    assert {e["pointer"] for e in answer.json["errors"]} == {"/command_id", "/task", "/minutes"}


@pytest.mark.parametrize("kind", ["tick", "record_fact", "record_instants", "offer_plan", "import_kitchen", "rm"])
def test_what_only_the_kitchen_may_do_is_not_an_act(kind: str, client: FlaskClient, gateway: KitchenGateway) -> None:
    before = gateway.state.seq
    assert client.post("/api/v1/commands", json={"kind": kind, "command_id": "a-3"}).status_code == 422
    assert gateway.state.seq == before


@pytest.mark.parametrize(
    ("body", "mimetype", "status"),
    [("{", "application/json", 422), ("x", "text/plain", 415), ("[" * 70_000, "application/json", 413)],
)
def test_body_that_is_none_is_a_problem(body: str, mimetype: str, status: int, client: FlaskClient) -> None:
    answer = client.post("/api/v1/commands", data=body, content_type=mimetype)
    assert (answer.status_code, answer.mimetype) == (status, "application/problem+json")


def test_bad_query_names_its_place(client: FlaskClient) -> None:
    answer = client.get("/api/v1/probes/fridge-air/readings?since=yesterday")
    assert (answer.status_code, answer.mimetype) == (422, "application/problem+json")


@pytest.mark.parametrize("at_", ["0", "1764486000", "-3", 0, 1764486000.5])
def test_bare_number_is_no_instant(at_: object, client: FlaskClient, gateway: KitchenGateway) -> None:
    """RFC 3339, as the document says; taken as seconds since 1970, it would stand on record."""
    told = {"kind": "come_in", "command_id": "c1", "person": "early-cook", "tapped_at": at_}
    answer = client.post("/api/v1/commands", json=told)
    assert (answer.status_code, "is no instant: write it like" in answer.text) == (422, True)
    assert gateway.records == [r for r in gateway.records if isinstance(r.event, DeviationOpened)]
    assert client.get(f"/api/v1/probes/fridge-air/readings?since={at_}").status_code == 422


def test_here_is_said_in_true_or_false(client: FlaskClient) -> None:
    told = {"command_id": "c1", "person": "early-cook", "here": 0}
    assert client.post("/api/v1/crew/presence", json=told).status_code == 422
    assert client.post("/api/v1/crew/presence", json={**told, "here": True}).status_code == 200


def test_why_asks_the_planner_about_the_adopted_plan(client: FlaskClient, gateway: KitchenGateway) -> None:
    answer = client.get("/api/v1/tasks/B1.churn/why")
    assert WhyAnswer.model_validate(answer.json) == WHY
    asked = gateway.questions[-1]
    assert isinstance(asked, WhyQuestion)
    assert (asked.task, asked.plan, asked.request.now) == ("B1.churn", gateway.state.plan, gateway.now)


def test_question_that_the_planner_does_not_answer_is_a_problem(client: FlaskClient, gateway: KitchenGateway) -> None:
    gateway.answers = {}
    answer = client.get("/api/v1/tasks/B1.churn/why")
    assert (answer.status_code, answer.mimetype, answer.json["thing"]) == (503, "application/problem+json", "planner")


def test_what_if_asks_the_planner_and_records_nothing(client: FlaskClient, gateway: KitchenGateway) -> None:
    present = gateway.state.plan
    assert present is not None
    outcome = Outcome(name="present plan", plan=present)
    gateway.answers["what_if"] = WhatIfAnswer(base=outcome, scenarios=(outcome,), table=comparison((outcome, outcome)))
    before = gateway.state
    order = gateway.state.kitchen.orders[0].id if gateway.state.kitchen else ""
    body = {"scenarios": [{"name": "less", "changes": [{"change": "drop order", "order": order}]}], "seconds": 3}
    answer = client.post("/api/v1/what-if", json=body)
    assert (answer.status_code, gateway.state) == (200, before)
    schema = DOCUMENT["paths"]["/what-if"]["post"]["responses"]["200"]["content"]["application/json"]["schema"]
    Draft202012Validator({**schema, "components": DOCUMENT["components"]}).validate(answer.json)
    asked = gateway.questions[-1]
    assert isinstance(asked, WhatIfQuestion)
    assert (asked.seconds, asked.request.previous, [s.name for s in asked.scenarios]) == (3.0, present, ["less"])


def test_what_if_of_a_change_that_cannot_be_is_refused_by_name(client: FlaskClient, gateway: KitchenGateway) -> None:
    body = {"scenarios": [{"name": "x", "changes": [{"change": "drop order", "order": "NONE"}]}]}
    answer = client.post("/api/v1/what-if", json=body)
    assert (answer.status_code, answer.json["thing"], gateway.questions) == (404, "NONE", [])


def test_what_if_that_does_not_fit_names_every_place(client: FlaskClient) -> None:
    body = {"scenarios": [{"name": "", "changes": [{"change": "drop oder"}]}], "seconds": 900}
    answer = client.post("/api/v1/what-if", json=body)
    assert answer.status_code == 422
    assert {e["pointer"] for e in answer.json["errors"]} >= {"/scenarios/0/name", "/scenarios/0/changes/0", "/seconds"}
