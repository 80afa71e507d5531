"""From an empty folder to a kitchen that is taken over, as the page of first steps leads there."""

from pathlib import Path

from flask.testing import FlaskClient

from display.app import create_app
from display.views import CoreViews
from orchestrator.core.state import State
from orchestrator.kitchen import new_kitchen, read_kitchen
from orchestrator.kitchen.setting_up import WatchedFolder
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import planned


def opened(folder: Path | None) -> tuple[KitchenGateway, FlaskClient]:
    gateway = KitchenGateway(State(), at("Wed 07:00"))
    gateway.folder = WatchedFolder(folder) if folder is not None else None
    return gateway, create_app(gateway, CoreViews()).web.test_client()


def test_way_in_without_a_kitchen_leads_to_the_first_steps(tmp_path: Path) -> None:
    _, client = opened(tmp_path)
    answer = client.get("/")
    assert (answer.status_code, answer.location) == (303, "/first-run")


def test_nothing_named_says_with_which_commands_to_begin() -> None:
    _, client = opened(None)
    text = Page(client.get("/first-run").text).text
    assert "coldwright new my-kitchen" in text
    assert "coldwright serve my-kitchen --first-run" in text
    assert client.get("/").status_code == 503


def test_empty_folder_says_of_each_part_that_it_is_missing_and_in_which_file_it_goes(tmp_path: Path) -> None:
    gateway, client = opened(tmp_path)
    page = Page(client.get("/first-run").text)
    assert page.text.count("none yet") == 5
    for file in ("kitchen.yaml", "equipment.yaml", "crew.yaml", "recipes/", "orders.yaml"):
        assert file in page.text
    assert page.forms == []
    client.post("/first-run/take-over")
    assert gateway.state.kitchen is None
    assert "Not taken over: the folder still has faults." in client.get("/first-run").text


def test_fault_is_shown_with_file_and_line_until_it_is_put_right_and_then_the_kitchen_is_taken_over(
    tmp_path: Path,
) -> None:
    folder = tmp_path / "kitchen"
    new_kitchen(folder)
    crew = folder / "crew.yaml"
    right = crew.read_text(encoding="utf-8")
    crew.write_text(right.replace("skills: [make]", "skills: make"), encoding="utf-8")
    gateway, client = opened(folder)
    page = Page(client.get("/first-run").text)
    line = next(n for n, text in enumerate(right.splitlines(), 1) if "skills: [make]" in text)
    assert f"crew.yaml:{line}" in page.text
    assert "1 there" in page.text
    assert page.forms == []

    crew.write_text(right, encoding="utf-8")
    answer = client.get("/first-run")
    assert answer.headers["Refresh"] == "5"
    assert [form.buttons for form in Page(answer.text).forms] == [["Take this kitchen over"]]
    client.post("/first-run/take-over")
    assert gateway.state.kitchen == read_kitchen(folder)
    assert "The planner makes the first plan." in client.get("/first-run").text
    assert "First steps" in Page(client.get("/").text).links


def test_kitchen_without_orders_is_led_to_its_first_one_and_one_with_a_plan_to_the_board() -> None:
    gateway, client = opened(None)
    gateway.state = planned()
    kitchen = gateway.state.kitchen
    assert Page(client.get("/first-run").text).links["Board"] == "/board"
    assert kitchen is not None
    gateway.state = planned(kitchen.model_copy(update={"orders": ()}))
    assert Page(client.get("/first-run").text).links["Add the first order"] == "/orders/new"


def test_no_page_fails_before_there_is_a_kitchen_and_those_of_a_kitchen_lead_to_the_first_steps(tmp_path: Path) -> None:
    _, client = opened(tmp_path)
    rules = [r for r in client.application.url_map.iter_rules() if "GET" in (r.methods or ()) and not r.arguments]
    answers = {rule.rule: client.get(rule.rule) for rule in rules}
    assert {path: a.status_code for path, a in answers.items() if a.status_code >= 500} == {}
    for path in ("/calls", "/alarms", "/probes", "/lots", "/orders", "/durations", "/deviations"):
        assert (answers[path].status_code, answers[path].location) == (303, "/first-run"), path
