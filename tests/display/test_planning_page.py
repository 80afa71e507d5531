"""The planning table: changes put together from several forms, one taken back, all carried out at once."""

from dataclasses import replace
from urllib.parse import parse_qs, urlsplit

from flask.testing import FlaskClient

from display.app import create_app
from display.changing import packed, unpacked
from display.views import CoreViews
from orchestrator.core.ids import CrewId, OrderId
from orchestrator.core.models.change import AddOrder, AddStock, DropOrder
from orchestrator.core.models.change_crew import Absent
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing, planned


def opened() -> tuple[KitchenGateway, FlaskClient]:
    gateway = KitchenGateway(base_ageing(), at("Wed 15:00"))
    client = create_app(gateway, CoreViews()).web.test_client()
    client.set_cookie("person", "manager")
    return gateway, client


def so_far(location: str) -> str:
    assert urlsplit(location).path == "/planning"
    return parse_qs(urlsplit(location).query)["c"][0]


ORDER = {"rows": "3", "customer": "Rowing club", "due": "2026-11-28T15:00", "weight": "1"}
ORDER |= {"product_0": "damson-sorbet", "quantity_0": "1,5"}
AWAY = {"crew": "early-cook", "from": "2026-11-27T06:00", "until": "2026-11-27T12:00"}
STOCK = {"recipe": "damson-sorbet", "quantity": "2", "lot": "s9", "made": "2026-11-24T12:00", "place": "freezer"}


def test_changes_of_three_forms_are_put_together_and_one_is_taken_back_and_the_rest_carried_out() -> None:
    gateway, client = opened()
    told = packed(())
    for path, fields in (("/orders/new", ORDER), ("/crew/away", AWAY), ("/planning/stock", STOCK)):
        answer = client.post(path, data={**fields, "so_far": told})
        assert answer.status_code == 303, path
        told = so_far(answer.location)
    changes = unpacked(told)
    assert [type(change) for change in changes] == [AddOrder, Absent, AddStock]

    page = Page(client.get(f"/planning?c={told}").text)
    assert "3 changes so far" in page.text
    assert "Early cook away from Fri 27 Nov 06:00 to 12:00" in page.text
    rest = so_far(page.links["Take back"])  # the last of three links of that name
    assert unpacked(rest) == changes[:2]
    page = Page(client.get(f"/planning?c={rest}").text)
    assert "2 changes so far" in page.text
    assert gateway.state.by_hand.changes == 0

    sent = page.form("/changes").fields
    answer = client.post("/changes", data={**sent, "reason": "by telephone"})
    assert (answer.status_code, answer.location) == (303, "/planning")
    assert gateway.state.by_hand.changes == 1
    assert gateway.state.kitchen is not None
    assert "SAT-ROWING-CLUB" in {order.id for order in gateway.state.kitchen.orders}
    assert "No change so far." in Page(client.get("/planning").text).text


def test_stock_with_faults_loses_nothing_and_tells_each_beside_its_field() -> None:
    _, client = opened()
    told = packed((DropOrder(order=OrderId("SUN-CAFE")),))
    answer = client.post("/planning/stock", data={**STOCK, "quantity": "x", "made": "2026-11-29T12:00", "so_far": told})
    text = Page(answer.text).text
    assert answer.status_code == 422
    assert "x is no amount" in text
    assert "That is still to come" in text
    assert "1 change so far" in text
    assert 'value="s9"' in answer.text
    taken = client.post("/planning/stock", data={**STOCK, "lot": "C1", "so_far": told})
    assert "there is a lot of that code already" in Page(taken.text).text


def test_what_contradicts_the_changes_before_it_is_refused_with_them() -> None:
    _, client = opened()
    twice = packed((DropOrder(order=OrderId("SUN-CAFE")), DropOrder(order=OrderId("SUN-CAFE"))))
    page = Page(client.get(f"/planning?c={twice}").text)
    assert "This cannot be." in page.text
    assert all(form.action != "/changes" for form in page.forms)


def test_forms_of_the_table_lead_back_to_it_and_others_to_their_preview() -> None:
    _, client = opened()
    told = packed((Absent(crew=CrewId("early-cook"), start=at("Fri 06:00"), end=at("Fri 08:00")),))
    page = Page(client.get(f"/orders/new?so_far={told}").text)
    assert page.links["Back"] == f"/planning?c={told}"
    assert page.forms[0].fields["so_far"] == told
    assert client.post("/orders/new", data=ORDER).location.startswith("/changes?")


def test_table_before_any_order_says_what_to_do() -> None:
    state = planned()
    assert state.kitchen is not None
    bare = replace(state, kitchen=state.kitchen.model_copy(update={"orders": ()}), plan=None)
    client = create_app(KitchenGateway(bare, at("Wed 07:00")), CoreViews()).web.test_client()
    text = Page(client.get("/planning").text).text
    for words in ("No order waits. Add the first one above.", "Nothing is on hand and free.", "Every machine works"):
        assert words in text, words
