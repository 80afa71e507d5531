"""A machine that stops now, from its card: until an instant or until further notice, and back."""

import pytest

from display.app import create_app
from display.views import CoreViews
from orchestrator.core.ids import EquipmentId
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing

CHURN = EquipmentId("churn")


@pytest.mark.parametrize(("typed", "until"), [("", "until further notice"), ("2026-11-25T17:30", "until 17:30")])
def test_machine_is_stopped_says_who_and_why_apart_and_is_back(typed: str, until: str) -> None:
    gateway = KitchenGateway(base_ageing(), at("Wed 15:00"))
    client = create_app(gateway, CoreViews()).web.test_client()
    client.set_cookie("person", "manager")
    assert "Stop machine" in Page(client.get("/machines").text).text
    fields = {"command_id": "stop-1", "equipment": CHURN, "until": typed, "reason": "belt slips", "back": "/machines"}
    assert client.post("/acts/stop", data=fields).status_code == 303
    text = Page(client.get("/machines").text).text.replace("\u00a0", " ")
    assert f"stopped since 15:00, {until} belt slips · by Manager" in text
    assert gateway.state.machines[CHURN].until == (at("Wed 17:30") if typed else None)
    back = {"command_id": "back-1", "equipment": CHURN, "back": "/machines"}
    assert client.post("/acts/machine_back", data=back).status_code == 303
    assert gateway.state.machines == {}
