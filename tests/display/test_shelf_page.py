"""The shelf on the screens: made quiet from the alarms page, shown apart and counted, taken off again."""

from collections.abc import Mapping

import pytest
from flask.testing import FlaskClient

from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import AlarmStatus
from tests.display.page import Page
from tests.display.test_desk_pages import client_of, text_of, troubled
from tests.fakes.kitchen_gateway import KitchenGateway

STOPPED = AlarmId("machine_stopped:churn")
WARM = AlarmId("store_warm:freezer")


def _post(client: FlaskClient, act: str, fields: Mapping[str, str]) -> tuple[int, str]:
    answer = client.post(f"/acts/{act}", data={"back": "/alarms", **fields}, headers={"Accept": "application/json"})
    assert answer.json is not None
    return answer.status_code, f"{answer.json['says']} {answer.json['remedy']}".replace("\u00a0", " ")


def _page(client: FlaskClient, path: str = "/alarms") -> Page:
    return Page(client.get(path).text)


@pytest.fixture
def gateway() -> KitchenGateway:
    return troubled()


def test_alarm_is_made_quiet_from_its_form_and_shown_apart_with_end_person_and_reason(gateway: KitchenGateway) -> None:
    client = client_of(gateway, "manager")
    assert "Quiet for now (0)" in text_of(_page(client))
    fields = _page(client).form("/acts/shelve").fields
    assert set(fields) >= {"alarm", "minutes", "reason", "command_id"}
    status, says = _post(client, "shelve", {"alarm": STOPPED, "minutes": "60", "reason": "the fitter comes at ten"})
    assert (status, says.strip()) == (200, "Quiet; it comes back by itself")
    assert gateway.state.alarms[STOPPED].status is AlarmStatus.SHELVED
    text = text_of(_page(client))
    assert "Quiet for now (1)" in text
    assert "Quiet until 10:42" in text
    assert "by Manager: the fitter comes at ten" in text
    assert "Its cause stands" in text
    assert "Made quiet" in text  # what happened, from the log


def test_quiet_alarm_neither_rings_on_station_and_board_nor_is_hidden(gateway: KitchenGateway) -> None:
    client = client_of(gateway, "manager")
    for alarm in [a for a in gateway.state.alarms if a != STOPPED]:
        _post(client, "seen", {"alarm": alarm})
    _post(client, "shelve", {"alarm": STOPPED, "minutes": "60", "reason": "the fitter comes at ten"})
    for path in ("/board", "/station/stove"):
        html = client.get(path).text
        assert 'class="alarm"' not in html.replace(" alarm-warning", "")
        assert "quiet" in text_of(Page(html)).lower()


def test_quiet_ends_at_a_tap_and_the_alarm_must_be_seen_anew(gateway: KitchenGateway) -> None:
    client = client_of(gateway, "manager")
    _post(client, "shelve", {"alarm": STOPPED, "minutes": "60", "reason": "the fitter comes at ten"})
    assert _page(client).form("/acts/unshelve").fields["alarm"] == STOPPED
    assert _post(client, "unshelve", {"alarm": STOPPED})[0] == 200
    assert gateway.state.alarms[STOPPED].status is AlarmStatus.UNACKNOWLEDGED
    assert "came back from quiet" in text_of(_page(client))


def test_critical_alarm_about_food_has_no_such_form_and_the_refusal_names_it_in_words(gateway: KitchenGateway) -> None:
    client = client_of(gateway, "manager")
    assert "It cannot be made quiet: it is critical for food" in text_of(_page(client))
    status, says = _post(client, "shelve", {"alarm": WARM, "minutes": "5", "reason": "door was open"})
    assert status == 409
    assert says == (
        "Not done. Freezer too warm: −12.4 °C: critical for food: it cannot be made quiet. Mark it as seen, which ends "
        "its sound; then move the food to a store that is cold, and measure it by hand."
    )


def test_longer_than_its_priority_allows_is_refused_with_the_latest_end(gateway: KitchenGateway) -> None:
    client = client_of(gateway, "manager")
    status, says = _post(client, "shelve", {"alarm": STOPPED, "minutes": "600", "reason": "no"})
    assert (status, says.endswith("At most until Thu 11:42.")) == (409, True)
    assert _post(client, "shelve", {"alarm": STOPPED, "minutes": "60", "reason": ""})[0] == 400
