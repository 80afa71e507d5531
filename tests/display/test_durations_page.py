"""The page of durations: what was learned, beside the recipe's figures, and the manager's decision through the form."""

from dataclasses import replace

from flask.testing import FlaskClient

from display.app import create_app
from display.views import CoreViews
from orchestrator.core.durations import LEAST_SAMPLES
from orchestrator.core.ids import RecipeId, StepId, TaskId
from orchestrator.core.models import Duration
from orchestrator.core.models.durations import Sample
from orchestrator.core.views import duration_views
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing

CHURN = (RecipeId("basil-custard"), StepId("churn"))
SIMMER = (RecipeId("damson-sorbet"), StepId("simmer"))
FORM = "/acts/durations"


def samples(count: int, first: float) -> tuple[Sample, ...]:
    return tuple(Sample(task=TaskId(f"B{i}.churn"), minutes=first + i, at=at("Wed 09:00")) for i in range(count))


def gateway() -> KitchenGateway:
    """Nine churns of 31 to 39 min, and two simmers."""
    known = {CHURN: samples(LEAST_SAMPLES, 31), SIMMER: samples(2, 30)}
    return KitchenGateway(replace(base_ageing(), samples=known), at("Wed 15:00"))


def client_of(kitchen: KitchenGateway, person: str = "manager") -> FlaskClient:
    client = create_app(kitchen, CoreViews()).web.test_client()
    if person:
        client.set_cookie("person", person)
    return client


def page_of(client: FlaskClient) -> Page:
    answer = client.get("/durations")
    assert answer.status_code == 200
    return Page(answer.text)


def text_of(page: Page) -> str:
    return page.text.replace("\u00a0", " ")


def test_page_lists_recipe_and_learned_figures_and_what_is_still_too_little() -> None:
    page = page_of(client_of(gateway()))
    text = text_of(page)
    assert "Churn basil custardBasil custard 30 min 25 to 45 35 min one in ten under 31, one in ten over 39" in text
    assert "from 9 tasks" in text
    assert "Damson sorbet: 2 of 9" in text
    assert page.form(FORM).buttons == ["Adopt 35 min (27 to 43)"]
    assert page.inline_styles == []
    assert page.inline_scripts == []


def test_manager_adopts_through_the_form_and_takes_it_back() -> None:
    kitchen = gateway()
    client = client_of(kitchen)
    sent = page_of(client).form(FORM).fields
    assert client.post(FORM, data=sent).status_code == 303
    assert kitchen.state.adopted[CHURN].figures == Duration(shortest=27, usual=35, longest=43)
    page = page_of(client)
    assert "Adopted 15:00 by Manager, from 9 tasks" in text_of(page)
    assert page.form(FORM).buttons == ["Take back: 30 min"]
    assert client.post(FORM, data=page.form(FORM).fields).status_code == 303
    assert kitchen.state.adopted == {}
    assert page_of(client).form(FORM).buttons == ["Adopt 35 min (27 to 43)"]


def test_form_sent_twice_adopts_once() -> None:
    kitchen = gateway()
    client = client_of(kitchen)
    sent = page_of(client).form(FORM).fields
    for _ in range(2):
        assert client.post(FORM, data=sent).status_code == 303
    assert [r.event.kind for r in kitchen.records].count("durations_adopted") == 1


def test_cook_is_told_who_decides_and_nobody_is_asked_for_a_name() -> None:
    for person, says in (("early-cook", "Early cook does not decide about figures"), ("", "nobody is named")):
        kitchen = gateway()
        client = client_of(kitchen, person)
        sent = page_of(client).form(FORM).fields
        client.post(FORM, data=sent)
        assert says in text_of(page_of(client))
        assert kitchen.state.adopted == {}


def test_figures_that_make_no_sense_are_refused_with_the_field() -> None:
    client = client_of(gateway())
    sent = {"recipe": CHURN[0], "step": CHURN[1], "adopt": "yes", "shortest": "40", "usual": "35", "longest": "50"}
    answer = client.post(FORM, data=sent, headers={"Accept": "application/json"})
    assert answer.status_code == 400
    assert "Usual minutes" in answer.json["says"]


def test_page_without_a_finished_task_says_how_many_it_needs() -> None:
    kitchen = KitchenGateway(base_ageing(), at("Wed 15:00"))
    assert "No step has been finished 9 times yet" in text_of(page_of(client_of(kitchen)))


def test_orders_and_start_page_lead_there() -> None:
    client = client_of(gateway())
    assert Page(client.get("/orders").text).links["How long steps take"] == "/durations"
    assert "1 learned" in client.get("/").text


def test_interface_lists_durations_and_takes_the_decision() -> None:
    kitchen = gateway()
    client = client_of(kitchen)
    told = {(d["recipe"], d["step"]): d for d in client.get("/api/v1/durations").json}
    churn = told["basil-custard", "churn"]
    assert (churn["written"]["usual"], churn["learned"]["figures"]["usual"], churn["samples"]) == (30, 35, 9)
    assert ("custard-base", "age") not in told
    act = {"command_id": "d-1", "person": "manager", "recipe": "basil-custard", "step": "churn"}
    adopted = {"kind": "adopt_durations", **act, "figures": churn["learned"]["figures"]}
    assert client.post("/api/v1/commands", json=adopted).status_code == 200
    assert duration_views(kitchen.state)[0].recipe == "custard-base"
    assert kitchen.state.adopted[CHURN].samples == 9
    back = {"kind": "restore_durations", **act, "command_id": "d-2"}
    assert client.post("/api/v1/commands", json=back).status_code == 200
    assert kitchen.state.adopted == {}
