"""The page of a warm fridge with eggs and whites in it: measured, kept, thrown away; and the lots' page after it."""

import pytest
from flask.testing import FlaskClient

from orchestrator.core.ids import LotCode
from orchestrator.core.state import LotStatus
from tests.core.test_failed_places_pantry import failed
from tests.display.page import Page
from tests.display.test_desk_pages import client_of, text_of
from tests.fakes.kitchen_gateway import KitchenGateway

EGGS, WHITES = LotCode("in-1"), LotCode("C1-left-1")


@pytest.fixture
def gateway() -> KitchenGateway:
    script = failed()
    gateway = KitchenGateway(script.state, script.now, facts=script.facts)
    gateway.records = list(script.log)
    return gateway


def post(client: FlaskClient, act: str, **fields: str) -> tuple[int, str]:
    answer = client.post(f"/acts/{act}", data={"back": "/places", **fields}, headers={"Accept": "application/json"})
    assert answer.json is not None
    return answer.status_code, f"{answer.json['says']} {answer.json['remedy']}".replace("\u00a0", " ")


def test_page_lists_what_stands_in_the_fridge_with_a_field_to_measure_it(gateway: KitchenGateway) -> None:
    client = client_of(gateway, "early-cook")
    page = client.get("/places/fridge").text
    text = text_of(Page(page)).replace("\u00a0", " ")
    assert "in-1 eggs1.5 kg" in text
    assert "C1-left-1 egg white900 g" in text
    assert "Its core is at most 7.3 °C" in text
    assert page.count('action="/acts/measure_ingredient"') == 2
    assert '"/trace/in-1"' in page


def test_whites_are_measured_and_kept_and_eggs_thrown_away_stand_among_the_lots(gateway: KitchenGateway) -> None:
    client = client_of(gateway, "early-cook")
    status, says = post(client, "answer_lot", lot=WHITES, equipment="fridge", answer="kept")
    assert (status, "Measure its middle by hand: at most 5 °C" in says) == (409, True)
    assert post(client, "measure_ingredient", lot=WHITES, temperature="4.2")[0] == 200
    assert post(client, "answer_lot", lot=WHITES, equipment="fridge", answer="kept")[0] == 200
    assert post(client, "answer_lot", lot=EGGS, equipment="fridge", answer="on hold")[0] == 200
    held = client.get("/lots").text
    assert 'id="in-1"' in held
    assert "allergens: egg" in text_of(Page(held)).lower()
    told = {"lot": EGGS, "decision": "discard", "reason": "stood at 9 °C"}
    assert post(client, "lot", **told)[0] == 200
    assert gateway.state.lots[EGGS].status is LotStatus.DISCARDED
    page = client.get("/lots").text
    assert '"/record/in-1"' not in page
    assert '"/labels/in-1"' not in page
    assert "discarded" in text_of(Page(page)).lower()


def test_reading_that_fits_in_the_other_unit_is_asked_about(gateway: KitchenGateway) -> None:
    client = client_of(gateway, "early-cook")
    answer = client.post(
        "/acts/measure_ingredient",
        data={"back": "/places", "lot": EGGS, "temperature": "39"},
        headers={"Accept": "application/json"},
    )
    assert answer.json is not None
    assert [ask["fields"]["temperature"] for ask in answer.json["asks"]] == ["3.9", "39"]
