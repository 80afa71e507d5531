"""A kitchen in which nothing has happened yet: each page says what to do, and leads there."""

from datetime import date
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.views import CoreViews
from orchestrator.kitchen import new_kitchen, read_kitchen
from tests.core.script import Script
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway

WAYS = {
    "/orders": "/orders/new",
    "/demand": "#pars",
    "/lots": "/receiving",
    "/stock": "/receiving",
    "/receiving": "/papers/order",
    "/deviations": "/stations",
    "/durations": "/stations",
    "/papers": "/orders/new",
    "/recipes": "/drafts/new",
    "/alarms": "/probes",
    "/calls": "/crew",
    "/probes": "/first-run",
    "/board?by=batch": "/orders/new",
}
"""The first way out of each page on which nothing is yet."""


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> FlaskClient:
    """A new kitchen as its command makes it, without its order: nothing is planned, made, bought or measured."""
    folder: Path = tmp_path_factory.mktemp("kitchen") / "new"
    new_kitchen(folder, first_day=date(2026, 11, 30))
    (folder / "orders.yaml").write_text("orders: []\n", encoding="utf-8")
    (folder / "probes.yaml").write_text("probes: []\n", encoding="utf-8")
    kitchen = read_kitchen(folder)
    told = Script(kitchen=kitchen)
    told.give(kitchen.planning_start, "import_kitchen", kitchen=kitchen)
    client = create_app(KitchenGateway(told.state, told.now), CoreViews()).web.test_client()
    client.set_cookie("person", "counter-hand")
    return client


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize(("path", "way"), WAYS.items())
def test_page_on_which_nothing_is_says_what_to_do_and_leads_there(
    client: FlaskClient, path: str, way: str, language: str
) -> None:
    client.set_cookie("language", language)
    answer = client.get(path)
    assert answer.status_code == 200
    assert 'class="nothing-yet"' in answer.text
    first = answer.text.split('class="nothing-yet"')[1]
    assert f'href="{way}"' in first.split("</div>")[0]
    if way.startswith("#"):
        assert f'id="{way[1:]}"' in answer.text
    else:
        assert client.get(way).status_code == 200


def test_planning_table_stands_in_the_header_of_every_seated_page(client: FlaskClient) -> None:
    client.set_cookie("language", "en")
    assert Page(client.get("/lots").text).links["Planning"] == "/planning"
