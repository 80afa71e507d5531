"""Changes by hand on their page: shown, carried out by a named person, and shown anew where the kitchen has moved."""

from dataclasses import replace

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.changing import address, basis_of, basis_text, packed, unpacked
from display.views import CoreViews
from orchestrator.core.events import PlanAdopted
from orchestrator.core.ids import CommandId, OrderId
from orchestrator.core.kitchen_commands import Basis, ChangeKitchen
from orchestrator.core.kitchen_events import KitchenChanged
from orchestrator.core.models import Outlook
from orchestrator.core.models.change import CHANGES, Change, DropOrder
from orchestrator.core.models.outcome import Outcome, comparison
from orchestrator.core.models.questions import WhatIfAnswer, WhatIfQuestion
from tests.core.all_events import ALL_EVENTS
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing

PARTY: Change = CHANGES.validate_python(
    {
        "change": "add order",
        "order": {
            "id": "FRI-PARTY",
            "customer": "Birthday",
            "due": at("Fri 15:00"),
            "lines": [{"product": "basil-custard", "quantity": "2 L"}],
        },
    }
)
AWAY: Change = CHANGES.validate_python(
    {"change": "absent", "crew": "late-cook", "start": at("Thu 13:00"), "end": at("Thu 21:00")}
)
BREAK: Change = CHANGES.validate_python(
    {"change": "allow break", "task": "S1.churn", "after": "S1.age", "side": "too early", "minutes": 60}
)


@pytest.fixture
def gateway() -> KitchenGateway:
    made = KitchenGateway(base_ageing(), at("Wed 15:00"))
    plan = made.state.plan
    assert plan is not None
    new = Outlook(order=OrderId("FRI-PARTY"), met=True, ready_at=at("Fri 14:00"), late_min=0, margin_min=60)
    chance = {"chance": 0.9, "chance_low": 0.88, "chance_high": 0.92}
    planned = plan.model_copy(update={"simulated_runs": 2000})
    base = Outcome(name="present plan", plan=plan, outlooks=plan.outlooks)
    with_it = Outcome(
        name="by hand", changes=(PARTY,), plan=planned, outlooks=(*plan.outlooks, new.model_copy(update=chance))
    )
    made.answers["what_if"] = WhatIfAnswer(base=base, scenarios=(with_it,), table=comparison((base, with_it)))
    return made


@pytest.fixture
def client(gateway: KitchenGateway) -> FlaskClient:
    return create_app(gateway, CoreViews()).web.test_client()


def fields(client: FlaskClient, *changes: Change) -> dict[str, str]:
    """What the page's own form sends."""
    return dict(Page(client.get("/changes", query_string=address(changes)).text).form("/changes").fields)


def changed(gateway: KitchenGateway) -> list[KitchenChanged]:
    return [r.event for r in gateway.records if isinstance(r.event, KitchenChanged)]


def test_preview_says_whether_the_plan_would_wait_for_a_person(gateway: KitchenGateway, client: FlaskClient) -> None:
    assert gateway.state.plan is not None
    gateway.happen(PlanAdopted(plan=gateway.state.plan, at=at("Wed 14:00"), person=None))
    shown = Page(client.get("/changes", query_string=address((PARTY,))).text).text
    assert "would be worked by at once; nobody is asked" in shown
    told = gateway.answers["what_if"]
    assert isinstance(told, WhatIfAnswer)
    (outcome,) = told.scenarios
    assert outcome.plan is not None
    late = [one.model_copy(update={"late_min": 30}) if one.order == "SAT-STALL" else one for one in outcome.outlooks]
    plan = outcome.plan.model_copy(update={"outlooks": tuple(late)})
    worse = outcome.model_copy(update={"plan": plan, "outlooks": tuple(late)})
    gateway.answers["what_if"] = told.model_copy(update={"scenarios": (worse,)})
    again = create_app(gateway, CoreViews()).web.test_client()
    shown = Page(again.get("/changes", query_string=address((PARTY,))).text).text
    assert "would wait for a person to adopt it" in shown
    assert "SAT-STALL would be 30 min late" in shown
    assert "the kitchen goes on by the present plan" in shown


def test_every_kind_of_change_survives_its_way_through_an_address() -> None:
    changes = next(event.changes for event in ALL_EVENTS if isinstance(event, KitchenChanged))
    assert unpacked(packed(changes)) == changes
    assert len(packed([PARTY] * 300)) < 8000


@pytest.mark.parametrize("text", ["", "x", "!!!", packed([DropOrder(order=OrderId("A"))])[:-9], "A" * 60_000])
def test_damaged_address_says_nothing(text: str, client: FlaskClient) -> None:
    assert unpacked(text) == ()
    assert client.get("/changes", query_string={"c": text}).status_code == 404


def test_address_that_unfolds_to_too_much_says_nothing() -> None:
    assert unpacked(packed([PARTY] * 2000)) == ()


@pytest.mark.parametrize(
    ("text", "told"), [("3.1", Basis(revision=3, changes=1)), ("", None), ("a.b", None), ("3", None)]
)
def test_basis_is_read_from_a_hidden_field(text: str, told: Basis | None) -> None:
    assert basis_of(text) == told
    assert told is None or basis_text(told) == text


def test_preview_tells_every_order_the_new_one_too_with_its_chance_and_changes_nothing(
    client: FlaskClient, gateway: KitchenGateway
) -> None:
    before = gateway.state
    text = client.get("/changes", query_string=address([PARTY])).text
    page = Page(text)
    told = page.text.replace("\u00a0", " ")
    for words in (
        "FRI-PARTY more: 2 L Basil custard for Birthday, due Fri 27 Nov 15:00",
        "Birthday",
        "On time · 1 h spare",
        "90 %",
        "Nothing has been changed.",
    ):
        assert words in told, told
    assert (page.inline_styles, page.inline_scripts) == ([], [])
    assert gateway.state == before
    question = gateway.questions[-1]
    assert isinstance(question, WhatIfQuestion)
    assert question.scenarios[0].changes == (PARTY,)


def test_manager_carries_it_out_with_one_button(client: FlaskClient, gateway: KitchenGateway) -> None:
    client.set_cookie("person", "manager")
    page = Page(client.get("/changes", query_string=address([PARTY])).text)
    form = page.form("/changes")
    assert form.buttons == ["Carry it out as Manager"]
    answer = client.post("/changes", data={**form.fields, "reason": "by telephone"})
    assert (answer.status_code, answer.headers["Location"]) == (303, "/orders")
    assert [(e.changes, e.person, e.reason) for e in changed(gateway)] == [((PARTY,), "manager", "by telephone")]
    shown = Page(client.get("/orders").text)
    assert "Carried out and kept." in shown.text
    assert "Birthday" in shown.text
    client.post("/changes", data={**form.fields, "reason": "by telephone"})  # the same tap again
    assert len(changed(gateway)) == 1


def test_cook_at_the_screen_picks_the_manager_who_decides_but_says_who_is_away_herself(
    client: FlaskClient, gateway: KitchenGateway
) -> None:
    client.set_cookie("person", "early-cook")
    sent = fields(client, PARTY)
    assert client.post("/changes", data={**sent, "person": "early-cook"}).headers["Location"].startswith("/changes?")
    assert "may not decide" in client.get("/orders").text
    assert changed(gateway) == []
    client.post("/changes", data=fields(client, AWAY))
    assert [event.person for event in changed(gateway)] == ["early-cook"]


def test_quality_break_without_a_reason_is_asked_for_it_beside_the_field(
    client: FlaskClient, gateway: KitchenGateway
) -> None:
    client.set_cookie("person", "manager")
    sent = fields(client, BREAK)
    answer = client.post("/changes", data=sent)
    assert answer.status_code == 422
    assert "Say why: it goes on record." in answer.text
    assert 'aria-describedby="adopt-reason-fault"' in answer.text
    client.post("/changes", data={**sent, "reason": "the stall cannot wait"})
    assert [(e.person, e.reason) for e in changed(gateway)] == [("manager", "the stall cannot wait")]


def test_kitchen_that_has_moved_since_is_told_and_the_change_shown_anew(
    client: FlaskClient, gateway: KitchenGateway
) -> None:
    client.set_cookie("person", "manager")
    sent = fields(client, PARTY)
    gateway.state = replace(gateway.state, revision=gateway.state.revision + 1)
    answer = client.post("/changes", data=sent)
    assert answer.headers["Location"].startswith("/changes?c=")
    assert changed(gateway) == []
    again = Page(client.get(answer.headers["Location"]).text)
    assert "the kitchen has moved since this was shown" in again.text
    assert len([q for q in gateway.questions if isinstance(q, WhatIfQuestion)]) == 2
    client.post("/changes", data=again.form("/changes").fields)
    assert len(changed(gateway)) == 1


def test_change_that_cannot_be_is_told_with_its_remedy_and_offers_no_button(
    client: FlaskClient, gateway: KitchenGateway
) -> None:
    page = Page(client.get("/changes", query_string=address([DropOrder(order=OrderId("SAT-STAL"))])).text)
    assert "SAT-STAL: there is no order of that name. What would be accepted: did you mean SAT-STALL?" in page.text
    assert page.forms == []
    assert gateway.questions == []


def test_interface_hands_out_what_its_what_if_is_based_on_and_takes_it_back(
    client: FlaskClient, gateway: KitchenGateway
) -> None:
    scenario = {"name": "party", "changes": [PARTY.model_dump(mode="json")]}
    told = client.post("/api/v1/what-if", json={"scenarios": [scenario]}).json
    assert told["based_on"] == {"revision": gateway.state.revision, "changes": 0}
    command = {
        "kind": "change_kitchen",
        "command_id": "a",
        "person": "manager",
        "changes": scenario["changes"],
        "based_on": told["based_on"],
    }
    assert client.post("/api/v1/commands", json=command).status_code == 200
    stale = client.post(
        "/api/v1/commands", json={**command, "command_id": "b", "changes": [AWAY.model_dump(mode="json")]}
    )
    assert (stale.status_code, stale.content_type) == (409, "application/problem+json")


def test_repeat_of_a_command_s_id_is_not_done_twice(gateway: KitchenGateway) -> None:
    command = ChangeKitchen.model_validate({"command_id": "a", "person": "manager", "changes": [PARTY]})
    assert command.command_id == CommandId("a")
    assert gateway.submit(command) == gateway.submit(command)
    assert len(changed(gateway)) == 1
