"""Deviations, figures of alarms and answered calls, as programs read and send them."""

from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator

from display.api.openapi import document
from display.app import create_app
from display.views import CoreViews
from tests.core.doubt_script import hold
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchen_gateway import KitchenGateway

DOCUMENT = document("1.2.3")


def _in_doubt() -> Script:
    script = with_base_aged(in_a_planned_kitchen())
    hold(script, "Wed 11:00", "C1.chill", "temperature")
    return script


@pytest.fixture
def gateway() -> KitchenGateway:
    script = _in_doubt()
    gateway = KitchenGateway(script.state, script.now, facts=script.facts)
    gateway.records = list(script.log)
    return gateway


@pytest.fixture
def client(gateway: KitchenGateway) -> FlaskClient:
    return create_app(gateway, CoreViews()).web.test_client()


def fits(path: str, body: Any) -> None:
    answer = DOCUMENT["paths"][path]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
    Draft202012Validator({**answer, "components": DOCUMENT["components"]}).validate(body)


def test_deviations_tell_which_lots_wait_and_fit_the_document(client: FlaskClient) -> None:
    found = client.get("/api/v1/deviations").get_json()
    fits("/deviations", found)
    assert [(d["id"], d["facts"]["cause"], d["undecided"]) for d in found] == [("DEV-1", "problem", ["C1"])]
    assert client.get("/api/v1/deviations?open=false").get_json() == []
    assert len(client.get("/api/v1/deviations?open=true").get_json()) == 1
    assert client.get("/api/v1/deviations?open=yes").status_code == 422
    one = client.get("/api/v1/deviations/DEV-1").get_json()
    fits("/deviations/{deviation}", one)
    assert one == found[0]


def test_deviation_that_is_not_there_is_a_problem(client: FlaskClient) -> None:
    answer = client.get("/api/v1/deviations/DEV-9")
    assert (answer.status_code, answer.content_type) == (404, "application/problem+json")
    assert answer.get_json()["detail"] == "no deviation 'DEV-9'; see /api/v1/deviations"


def test_figures_of_alarms_are_those_of_the_page(client: FlaskClient, gateway: KitchenGateway) -> None:
    figures = client.get("/api/v1/alarms/figures?days=1").get_json()
    fits("/alarms/figures", figures)
    raised = sum(record.event.kind == "alarm_raised" for record in gateway.records)
    assert figures["total"] == raised
    assert sum(count for _, count in figures["hours"]) == raised
    assert client.get("/api/v1/alarms/figures?days=2").status_code == 422


def test_whoever_was_called_answers_from_outside_by_the_act_that_the_document_shows(client: FlaskClient) -> None:
    alarms = client.get("/api/v1/alarms").get_json()
    open_ = next(alarm for alarm in alarms if alarm["status"] == "unacknowledged")
    shown = DOCUMENT["paths"]["/commands"]["post"]["requestBody"]["content"]["application/json"]["examples"]
    act = {**shown["alarmSeen"]["value"], "alarm": open_["id"]}
    answer = client.post("/api/v1/commands", json=act)
    assert answer.status_code == 200
    after = {alarm["id"]: alarm for alarm in client.get("/api/v1/alarms").get_json()}
    assert after[open_["id"]]["status"] == "acknowledged"
    assert client.post("/api/v1/commands", json=act).status_code == 200  # the same id again is harmless
    for path in ("/alarms", "/calls"):
        assert "acknowledge_alarm" in DOCUMENT["paths"][path]["get"]["summary"]
