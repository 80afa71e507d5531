"""CSV is told in English, on 24 hours, metric, in degrees Celsius, whoever takes it: see README, "Your own kitchen"."""

from dataclasses import replace

import pytest
from flask.testing import FlaskClient

from display.papers.lists import LISTS, OF_A_LOT
from tests.display.papers.test_sheets import SHEETS, file_of, gateway
from tests.display.test_desk_pages import client_of, troubled
from tests.fakes.kitchen_gateway import KitchenGateway

FILES = (*(f"/csv/{name}.csv" for name in LISTS if name not in OF_A_LOT), "/alarms/figures.csv", "/mix.csv")


def in_fahrenheit(kitchen: KitchenGateway) -> KitchenGateway:
    assert kitchen.state.kitchen is not None
    there = kitchen.state.kitchen.model_copy(update={"temperature_unit": "F"})
    kitchen.state = replace(kitchen.state, kitchen=there)
    return kitchen


def other_reader(kitchen: KitchenGateway) -> FlaskClient:
    client = client_of(in_fahrenheit(kitchen))
    for name, way in (("language", "es"), ("clock", "12"), ("amounts", "us")):
        client.set_cookie(name, way)
    return client


def told(client: FlaskClient, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200
    return answer.text


@pytest.mark.parametrize("path", FILES)
def test_list_is_the_same_for_readers_of_another_language_clock_unit_and_measure(path: str) -> None:
    assert told(other_reader(troubled()), path) == told(client_of(troubled()), path)


@pytest.mark.parametrize("path", SHEETS)
def test_sheet_as_csv_is_the_same_too(path: str) -> None:
    there = file_of(path, "csv")
    assert told(other_reader(gateway()), there) == told(client_of(gateway()), there)


def test_what_an_alarm_says_is_in_the_list_in_english_and_on_the_page_in_spanish() -> None:
    client = other_reader(troubled())
    assert "Freezer too warm: \u221212.4\u00a0°C" in told(client, "/csv/alarms.csv")
    assert "10 or fewer; more are a flood" in told(client, "/alarms/figures.csv")
    assert "Freezer too warm" not in told(client, "/alarms")
