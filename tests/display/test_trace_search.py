"""What somebody reads off a label leads to its trace."""

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.views import CoreViews
from tests.browser.full_house import full_house


@pytest.fixture(scope="module")
def client() -> FlaskClient:
    return create_app(full_house(), CoreViews()).web.test_client()


@pytest.mark.parametrize("typed", ["C1", "c1", " C1 "])
def test_whole_lot_code_leads_to_its_trace_without_another_choice(client: FlaskClient, typed: str) -> None:
    answer = client.get("/trace", query_string={"lot": typed})
    assert (answer.status_code, answer.location) == (303, "/trace/C1")


def test_part_of_a_name_asks_which_lot_is_meant(client: FlaskClient) -> None:
    answer = client.get("/trace", query_string={"lot": "custard"})
    assert answer.status_code == 200
    assert 'href="/trace/C1"' in answer.text


def links(client: FlaskClient, typed: str) -> str:
    return client.get("/trace", query_string={"lot": typed}).text


def test_one_search_leads_to_orders_probes_deviations_and_alarms_too(client: FlaskClient) -> None:
    assert 'href="/orders#SAT-STALL"' in links(client, "sat-stall")
    assert 'href="/probe/fridge-air"' in links(client, "fridge air")
    assert 'href="/deviations/DEV-1"' in links(client, "dev-1")
    assert 'id="found-alarms"' in links(client, "probe silent")


def test_search_for_a_single_letter_or_for_what_is_nowhere_lists_nothing(client: FlaskClient) -> None:
    assert 'id="found-' not in links(client, "s")
    page = links(client, "zebra")
    assert 'id="found-' not in page
    assert "Nothing has that in its code or name." in page
