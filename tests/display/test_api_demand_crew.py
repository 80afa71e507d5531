"""Demand and crew through the interface for programs: what is handed in is what the pages' forms hand in."""

from typing import Any

import pytest
from flask.testing import FlaskClient

from display.api.openapi import document
from display.api.postings import POSTINGS
from display.app import create_app
from display.views import CoreViews
from orchestrator.core.kitchen_events import KitchenChanged
from orchestrator.core.models.change import AddOrder, ChangeOrder
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing


@pytest.fixture
def gateway() -> KitchenGateway:
    return KitchenGateway(base_ageing(), at("Wed 20:30"))


@pytest.fixture
def client(gateway: KitchenGateway) -> FlaskClient:
    return create_app(gateway, CoreViews()).web.test_client()


def post(client: FlaskClient, path: str, **body: Any) -> Any:
    told = {"command_id": f"c-{path}", "person": "manager", **body}
    return client.post(f"/api/v1{path}", json=told)


def changes(gateway: KitchenGateway) -> list[KitchenChanged]:
    return [r.event for r in gateway.records if isinstance(r.event, KitchenChanged)]


def test_par_level_then_count_become_the_order_for_the_morning(client: FlaskClient, gateway: KitchenGateway) -> None:
    levels = [{"product": "basil-custard", "quantity": "6 L", "by": "09:45"}]
    assert post(client, "/demand/par-levels", station="counter", levels=levels).status_code == 200
    (par,) = client.get("/api/v1/demand/par-levels").json
    assert par == {
        "station": "counter",
        "product": "basil-custard",
        "quantity": "6 L",
        "by": "09:45",
        "counted": None,
        "ordered": False,
    }
    left = {"station": "counter", "counts": [{"product": "basil-custard", "quantity": "1.5 L"}]}
    assert post(client, "/demand/counts", **left).status_code == 200
    order = next(c.order for c in changes(gateway)[-1].changes if isinstance(c, AddOrder))
    # 6 L to par less 1.5 L left, by the time of the par level.
    assert (order.due, order.lines[0].quantity.value) == (at("Thu 09:45"), 4.5)
    (par,) = client.get("/api/v1/demand/par-levels").json
    assert (par["counted"]["quantity"], par["counted"]["by"], par["ordered"]) == ("1.5 L", "manager", True)
    # The same again, and a second count of the evening: one order, changed.
    assert post(client, "/demand/counts", **left).status_code == 200
    assert len(changes(gateway)) == 2
    again = {**left, "counts": [{"product": "basil-custard", "quantity": "2 L"}], "command_id": "later"}
    assert post(client, "/demand/counts", **again).status_code == 200
    assert [type(c) for c in changes(gateway)[-1].changes][1:] == [ChangeOrder]


def test_count_alone_is_for_whoever_closes_and_orders_nothing(client: FlaskClient, gateway: KitchenGateway) -> None:
    levels = [{"product": "basil-custard", "quantity": "6 L"}]
    post(client, "/demand/par-levels", station="counter", levels=levels)
    left = {"station": "counter", "counts": [{"product": "basil-custard", "quantity": "1 L"}], "person": "counter-hand"}
    assert post(client, "/demand/counts", **left).status_code == 403
    assert post(client, "/demand/counts", **left, order=False, command_id="only").status_code == 200
    assert len(changes(gateway)[-1].changes) == 1


def test_hours_become_orders_on_the_kitchens_clock(client: FlaskClient, gateway: KitchenGateway) -> None:
    told = {"station": "counter", "product": "basil-custard", "day": "2026-11-27", "hours": {"11": 1.5, "9": 2}}
    assert post(client, "/demand/hours", **told).status_code == 200
    orders = [c.order for c in changes(gateway)[-1].changes if isinstance(c, AddOrder)]
    assert [(o.due, o.lines[0].quantity.value) for o in orders] == [(at("Fri 09:00"), 2), (at("Fri 11:00"), 1.5)]
    assert {o.id for o in orders} <= {told["order"] for told in client.get("/api/v1/orders").json}


@pytest.mark.parametrize(
    ("path", "body", "status", "says"),
    [
        ("/demand/counts", {"station": "countr", "counts": [{"product": "basil-custard", "quantity": "1 L"}]}, 404,
         "did you mean counter?"),
        ("/demand/counts", {"station": "counter", "counts": [{"product": "basil", "quantity": "1 L"}]}, 404,
         "basil-custard"),
        ("/demand/par-levels", {"station": "counter", "levels": [{"product": "basil-custard", "quantity": "1 kg"}]},
         422, "an amount in L"),
        ("/demand/hours", {"station": "counter", "product": "basil-custard", "day": "2026-11-27", "hours": {"9": 0}},
         422, "an amount in one hour at least"),
        ("/demand/hours", {"station": "counter", "product": "x", "day": "2026-11-27", "hours": {"9": 1}}, 404,
         "basil-custard"),
        ("/demand/hours", {"station": "counter", "product": "basil-custard", "day": "soon", "hours": {"30": 1}}, 422,
         "/day"),
        ("/crew/absences", {"crew": "early-cok", "start": at("Thu 06:00"), "end": at("Thu 09:00")}, 404, "early-cook"),
        ("/crew/absences", {"crew": "early-cook", "start": at("Thu 09:00"), "end": at("Thu 06:00")}, 422, "end"),
        ("/crew/presence", {"here": True, "person": "nobody"}, 404, "early-cook"),
        ("/crew/presence", {"here": False}, 409, "nothing to do"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_what_can(
    client: FlaskClient, gateway: KitchenGateway, path: str, body: dict[str, Any], status: int, says: str
) -> None:
    told = {key: value.isoformat() if hasattr(value, "isoformat") else value for key, value in body.items()}
    answer = post(client, path, **told)
    assert (answer.status_code, answer.mimetype) == (status, "application/problem+json"), answer.json
    assert says in answer.text
    assert gateway.records == []


def test_people_say_that_they_are_here_and_who_is_missed_is_told(client: FlaskClient, gateway: KitchenGateway) -> None:
    gateway.now = at("Thu 07:30")
    people = {person["id"]: person for person in client.get("/api/v1/crew").json}
    early = people["early-cook"]
    assert early["here_since"] is None
    assert early["missed"]["start"] == "2026-11-26T06:00:00Z"
    assert post(client, "/crew/presence", person="early-cook", here=True).status_code == 200
    early = client.get("/api/v1/crew").json[list(people).index("early-cook")]
    assert (early["here_since"], early["missed"]) == ("2026-11-26T07:30:00Z", None)
    assert early["shifts"][0]["start"] == "2026-11-26T06:00:00Z"
    assert post(client, "/crew/presence", person="early-cook", here=False, command_id="gone").status_code == 200
    assert client.get("/api/v1/crew").json[list(people).index("early-cook")]["here_since"] is None


def test_absence_and_a_shift_more_change_the_shifts_and_ask_for_a_plan(
    client: FlaskClient, gateway: KitchenGateway
) -> None:
    gateway.now = at("Thu 05:00")
    span = {"crew": "early-cook", "start": at("Thu 06:00").isoformat(), "end": at("Thu 20:00").isoformat()}
    assert post(client, "/crew/absences", **span, person="late-cook", reason="ill").status_code == 200
    people = {person["id"]: person for person in client.get("/api/v1/crew").json}
    assert all(not shift["start"].startswith("2026-11-26") for shift in people["early-cook"]["shifts"])
    assert gateway.state.replan_reason.startswith("changed by hand: Early cook away")
    more = {"crew": "early-cook", "start": at("Sat 02:00").isoformat(), "end": at("Sat 05:00").isoformat()}
    assert post(client, "/crew/shifts", **more, person="late-cook").status_code == 403
    assert post(client, "/crew/shifts", **more, command_id="more").status_code == 200
    people = {person["id"]: person for person in client.get("/api/v1/crew").json}
    assert {"2026-11-28T02:00:00Z"} <= {shift["start"] for shift in people["early-cook"]["shifts"]}


def test_everything_that_is_handed_in_stands_in_the_document_with_its_schema() -> None:
    paths = document("1.2.3")["paths"]
    for one in POSTINGS:
        told = paths[one.path]["post"]
        schema = told["requestBody"]["content"]["application/json"]["schema"]["$ref"].rpartition("/")[2]
        assert (told["operationId"], schema) == (one.name, one.body.__name__)
    assert "get" in paths["/orders"]
