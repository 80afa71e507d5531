"""The page that tells why a task stands where it does: one tap from its details, without script."""

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.views import CoreViews
from orchestrator.core.ids import TaskId
from orchestrator.core.models.explanation import Hold, HoldKind, WhyNot
from orchestrator.core.models.questions import WhyAnswer
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing

CHURN = TaskId("B1.churn")
EARLIER = Hold(kind=HoldKind.WINDOW, says="'Age the base' (C1) lasts no less than 12 h", task=CHURN)
PRESENT = Hold(kind=HoldKind.NOW, says="it is planned for now", task=TaskId("C1.cook"))
LATER = Hold(kind=HoldKind.GOAL, says="it could be, but minutes until things are made, 1 more", task=CHURN)


@pytest.fixture
def gateway() -> KitchenGateway:
    gateway = KitchenGateway(base_ageing(), at("Wed 15:00"))
    earlier = WhyNot(holds=(EARLIER,), along=(TaskId("C1.cook"),), together=(PRESENT,))
    gateway.answers = {"why": WhyAnswer(task=CHURN, earlier=earlier, later=WhyNot(holds=(LATER,)))}
    return gateway


@pytest.fixture
def client(gateway: KitchenGateway) -> FlaskClient:
    return create_app(gateway, CoreViews()).web.test_client()


def test_details_of_a_waiting_task_lead_to_why(client: FlaskClient) -> None:
    assert Page(client.get("/task/B1.churn").text).links["Why then?"] == "/task/B1.churn/why"
    assert "Why then?" not in Page(client.get("/task/C1.cook").text).links


def test_why_page_tells_both_sides_and_what_would_move_along(client: FlaskClient) -> None:
    answer = client.get("/task/B1.churn/why")
    page = Page(answer.text)
    assert answer.status_code == 200
    assert (page.inline_styles, page.inline_scripts) == ([], [])
    for words in ("Why not earlier", EARLIER.says, PRESENT.says, "Why not later", LATER.says):
        assert words in page.text
    assert page.links["C1.cook"] == "/task/C1.cook"


def test_why_page_of_an_unknown_task_or_without_a_planner_says_so(client: FlaskClient, gateway: KitchenGateway) -> None:
    assert client.get("/task/B9.churn/why").status_code == 404
    gateway.answers = {}
    answer = client.get("/task/B1.churn/why")
    assert (answer.status_code, "The planner gave no answer" in answer.text) == (503, True)


def test_details_hold_a_task_in_place_and_let_it_move(client: FlaskClient, gateway: KitchenGateway) -> None:
    client.set_cookie("person", "manager")
    form = Page(client.get("/task/B1.churn").text).form("/acts/hold")
    assert (form.buttons, form.fields["task"]) == (["Hold in place"], "B1.churn")
    assert client.post("/acts/hold", data=form.fields).status_code == 303
    assert gateway.state.plan is not None
    assert gateway.state.plan.task(CHURN).held_in_place
    page = Page(client.get("/task/B1.churn").text)
    assert "Held in place: a new plan leaves it at its time" in page.text
    client.post("/acts/free", data=page.form("/acts/free").fields)
    assert not gateway.state.plan.task(CHURN).held_in_place
    assert client.get("/api/v1/tasks/B1.churn").json["held_in_place"] is False
