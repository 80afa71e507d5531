"""The figures of alarms as a page and as CSV, from the log of a gateway."""

import csv
from datetime import timedelta
from io import StringIO

import pytest

from orchestrator.core.events import AlarmReturned
from orchestrator.core.ids import AlarmId
from tests.display.page import Page
from tests.display.test_desk_pages import client_of, page_of, quiet, text_of, troubled
from tests.fakes.kitchen_gateway import KitchenGateway

PATH = "/alarms/figures"


def table_of(gateway: KitchenGateway, query: str = "") -> list[list[str]]:
    answer = client_of(gateway).get(f"{PATH}.csv{query}")
    assert answer.status_code == 200
    assert answer.mimetype == "text/csv"
    assert "attachment" in answer.headers["Content-Disposition"]
    return list(csv.reader(StringIO(answer.text)))


def test_figures_of_a_kitchen_without_alarms_say_so_and_divide_by_nothing() -> None:
    text = text_of(page_of(quiet(), PATH))
    assert "No alarm in this time." in text
    assert "No alarm stands." in text
    assert ["total", "", "0", ""] in table_of(quiet())


def test_figures_count_what_was_raised_and_stand_beside_their_guidance() -> None:
    gateway = troubled()
    raised = len(gateway.state.alarms)
    assert raised > 2
    page = page_of(gateway, PATH)
    text = text_of(page)
    assert f"Times that somebody was told of something new or worse: {raised}." in text
    assert "Most in ten minutes" in text
    assert "10 or fewer; more are a flood" in text
    assert "Freezer too warm" in text
    assert text.count("too early to say") == 3  # an average of a minute's log says nothing
    assert (page.inline_styles, page.inline_scripts) == ([], [])
    assert len(page.ids) == len(set(page.ids))


def test_csv_has_the_same_figures_as_the_page_and_four_cells_in_every_row() -> None:
    gateway = troubled()
    rows = table_of(gateway)
    assert {len(row) for row in rows} == {4}
    found = {(row[0], row[1]): row[2] for row in rows}
    assert found["total", ""] == str(len(gateway.state.alarms))
    assert found["frequent", "machine_stopped:churn"] == "1"
    assert sum(int(row[2]) for row in rows if row[0] == "hour") == len(gateway.state.alarms)


def test_figures_follow_the_log_as_it_grows() -> None:
    gateway = troubled()
    client = client_of(gateway)
    client.get(PATH)
    alarm = AlarmId("machine_stopped:churn")
    gateway.happen(AlarmReturned(alarm=alarm, at=gateway.now + timedelta(seconds=30)))
    gateway.now += timedelta(minutes=5)
    text = text_of(Page(client.get(PATH).text))
    assert "over within a minute, 1 times" in text


@pytest.mark.parametrize("query", ["?days=1", "?days=30", "?days=soon", ""])
def test_days_that_are_not_offered_are_a_week(query: str) -> None:
    page = page_of(troubled(), PATH + query)
    assert page.links["Figures as CSV"] == f"{PATH}.csv?days={query[6:] if query[6:] in ('1', '30') else '7'}"


def test_figures_before_any_kitchen_are_nought() -> None:
    assert ["total", "", "0", ""] in table_of(KitchenGateway(quiet().state.__class__(), quiet().now))


def test_alarms_page_leads_to_the_figures() -> None:
    assert page_of(quiet(), "/alarms").links["Alarms in figures"] == PATH
