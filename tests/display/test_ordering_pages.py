"""Orders added, changed and left out by forms, and many at once from a table; faults stand beside their fields."""

import io
from urllib.parse import parse_qs, urlsplit

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.changing import unpacked
from display.views import CoreViews
from orchestrator.core.kitchen_events import KitchenChanged
from orchestrator.core.models.change import AddOrder, Change, ChangeOrder, DropOrder
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing

PARTY = {
    "customer": "Birthday",
    "due": "2026-11-27T15:00",
    "earliest": "",
    "weight": "2",
    "id": "",
    "rows": "3",
    "product_0": "basil-custard",
    "quantity_0": "2,5",
}


@pytest.fixture
def gateway() -> KitchenGateway:
    return KitchenGateway(base_ageing(), at("Wed 15:00"))


@pytest.fixture
def client(gateway: KitchenGateway) -> FlaskClient:
    made = create_app(gateway, CoreViews()).web.test_client()
    made.set_cookie("person", "manager")
    return made


def changes_of(location: str) -> tuple[Change, ...]:
    """What the preview that was gone to is about."""
    assert location.startswith("/changes?")
    return unpacked(parse_qs(urlsplit(location).query)["c"][0])


def test_orders_page_leads_to_adding_changing_and_the_table(client: FlaskClient) -> None:
    page = Page(client.get("/orders").text)
    assert page.links["Add an order"] == "/orders/new"
    assert page.links["Orders from a table"] == "/orders/table"
    assert page.links["Change"].endswith("/change")


def test_order_is_added_by_way_of_its_preview(client: FlaskClient, gateway: KitchenGateway) -> None:
    before = gateway.state
    answer = client.post("/orders/new", data=PARTY)
    assert answer.status_code == 303
    (change,) = changes_of(answer.headers["Location"])
    assert isinstance(change, AddOrder)
    assert (change.order.id, change.order.due, change.order.weight) == ("FRI-BIRTHDAY", at("Fri 15:00"), 2)
    assert [(line.product, line.quantity.value) for line in change.order.lines] == [("basil-custard", 2.5)]
    assert gateway.state == before
    preview = Page(client.get(answer.headers["Location"]).text)
    client.post("/changes", data=preview.form("/changes").fields)
    assert gateway.state.kitchen is not None
    assert change.order in gateway.state.kitchen.orders
    shown = Page(client.get("/orders").text)
    assert "Changed by hand of late" in shown.text
    back = client.get(preview.links["Change it first"])
    assert 'value="Birthday"' in back.text
    assert 'value="2.5"' in back.text


@pytest.mark.parametrize(
    ("typed", "name", "says"),
    [
        ({"customer": ""}, "customer", "For whom is missing."),
        ({"due": ""}, "due", "Handed over by is missing."),
        ({"due": "tomorrow"}, "due", "is not a date and time"),
        ({"due": "2026-12-24T10:00"}, "due", "cannot be planned"),
        ({"earliest": "2026-11-27T16:00"}, "earliest", "It lies after the hand-over"),
        ({"weight": "0"}, "weight", "Between 1 and 1000"),
        ({"id": "SAT-STALL"}, "id", "There is an order SAT-STALL already"),
        ({"id": "fri/party"}, "id", "Capital letters, digits and hyphens only"),
        ({"quantity_0": "two"}, "line_0", "two is no amount"),
        ({"product_0": ""}, "line_0", "Pick a product"),
        ({"product_0": "", "quantity_0": ""}, "line_0", "At least one product is needed."),
        ({"product_1": "damson-sorbet", "quantity_1": ""}, "line_1", "is no amount"),
    ],
)
def test_fault_stands_beside_its_field_and_nothing_typed_is_lost(
    client: FlaskClient, typed: dict[str, str], name: str, says: str
) -> None:
    sent = {**PARTY, **typed}
    answer = client.post("/orders/new", data=sent)
    assert answer.status_code == 422
    page = Page(answer.text)
    assert f"fault-{name}" in page.ids
    assert f'aria-describedby="fault-{name}"' in answer.text
    assert says in page.text
    kept = page.form("").fields
    assert {key: kept[key] for key in ("customer", "due", "weight", "id")} == {
        key: sent[key] for key in ("customer", "due", "weight", "id")
    }
    assert kept["quantity_0"] == sent["quantity_0"]


def test_more_rows_keep_what_was_typed_and_judge_nothing(client: FlaskClient) -> None:
    answer = client.post("/orders/new", data={**PARTY, "customer": "", "more": "yes"})
    page = Page(answer.text)
    assert (answer.status_code, page.form("").fields["quantity_0"]) == (200, "2,5")
    assert "quantity_5" in page.form("").fields
    assert not any(name.startswith("fault-") for name in page.ids)


def test_order_is_changed_only_in_what_is_other(client: FlaskClient, gateway: KitchenGateway) -> None:
    form = dict(Page(client.get("/orders/SAT-STALL/change").text).form("").fields)
    assert gateway.state.kitchen is not None
    order = next(o for o in gateway.state.kitchen.orders if o.id == "SAT-STALL")
    form.pop("more")
    form |= {f"product_{i}": line.product for i, line in enumerate(order.lines)}  # selects say it by an option
    same = client.post("/orders/SAT-STALL/change", data=form)
    assert (same.status_code, "Nothing is other than before" in same.text) == (422, True)
    answer = client.post("/orders/SAT-STALL/change", data={**form, "due": "2026-11-28T12:00"})
    assert changes_of(answer.headers["Location"]) == (ChangeOrder(order=order.id, due=at("Sat 12:00")),)
    back = Page(client.get(answer.headers["Location"]).text).links["Change it first"]
    assert 'value="2026-11-28T12:00"' in client.get(back).text


def test_order_is_left_out_and_added_again(client: FlaskClient, gateway: KitchenGateway) -> None:
    answer = client.post("/orders/SAT-STALL/drop")
    (change,) = changes_of(answer.headers["Location"])
    assert isinstance(change, DropOrder)
    client.post("/changes", data=Page(client.get(answer.headers["Location"]).text).form("/changes").fields)
    page = Page(client.get("/orders").text)
    again = page.links["Add SAT-STALL again"]
    client.post("/changes", data=Page(client.get(again).text).form("/changes").fields)
    assert gateway.state.kitchen is not None
    assert "SAT-STALL" in {order.id for order in gateway.state.kitchen.orders}
    assert "Add SAT-STALL again" not in Page(client.get("/orders").text).links
    assert client.get("/orders/NONE/change").status_code == 404


TABLE = "order,customer,due,product,quantity\nFRI-PARTY,Birthday,2026-11-27 15:00,basil-custard,2\n"


def test_table_is_pasted_or_sent_as_a_file_and_shown_before_anything_happens(
    client: FlaskClient, gateway: KitchenGateway
) -> None:
    before = gateway.state
    pasted = client.post("/orders/table", data={"text": TABLE})
    file = {"file": (io.BytesIO(b"\xef\xbb\xbf" + TABLE.encode()), "orders.csv"), "text": ""}
    sent = client.post("/orders/table", data=file, content_type="multipart/form-data")
    assert pasted.headers["Location"] == sent.headers["Location"]
    assert [c.order.id for c in changes_of(sent.headers["Location"]) if isinstance(c, AddOrder)] == ["FRI-PARTY"]
    assert gateway.state == before


def test_table_with_a_fault_is_told_line_by_line_and_kept_as_it_was_typed(client: FlaskClient) -> None:
    answer = client.post("/orders/table", data={"text": TABLE.replace("basil-custard", "basil")})
    text = Page(answer.text).text
    assert answer.status_code == 422
    assert "Nothing was taken over: 1 to put right" in text
    assert "product" in text
    assert "FRI-PARTY,Birthday,2026-11-27 15:00,basil,2" in text
    file = {"file": (io.BytesIO("Müller".encode("latin-1")), "orders.csv"), "text": ""}
    assert "not UTF-8" in client.post("/orders/table", data=file, content_type="multipart/form-data").text


def test_interface_takes_orders_all_or_none_with_problems_that_name_place_and_remedy(
    client: FlaskClient, gateway: KitchenGateway
) -> None:
    order = {
        "id": "FRI-PARTY",
        "customer": "Birthday",
        "due": "2026-11-27T15:00:00Z",
        "lines": [{"product": "basil-custard", "quantity": "2 L"}],
    }
    body = {"command_id": "till-1", "person": "manager", "orders": [order]}
    bad = {**order, "id": "FRI-CLUB", "lines": [{"product": "basil-custrad", "quantity": "2 L"}]}
    refused = client.post("/api/v1/orders", json={**body, "orders": [order, bad]})
    assert (refused.status_code, refused.content_type) == (404, "application/problem+json")
    assert refused.json["remedy"] == "did you mean basil-custard?"
    assert not any(isinstance(r.event, KitchenChanged) for r in gateway.records)
    wrong = client.post("/api/v1/orders", json={**body, "orders": [{**order, "due": "soon"}]})
    assert (wrong.status_code, wrong.json["errors"][0]["pointer"]) == (422, "/orders/0/due")
    cook = client.post("/api/v1/orders", json={**body, "person": "early-cook"})
    assert cook.status_code == 403
    assert [client.post("/api/v1/orders", json=body).status_code for _ in range(2)] == [200, 200]
    assert len([r for r in gateway.records if isinstance(r.event, KitchenChanged)]) == 1
    assert "FRI-PARTY" in {told["order"] for told in client.get("/api/v1/orders").json}


def test_columns_of_the_table_are_named_as_they_are_typed_in_every_language(client: FlaskClient) -> None:
    client.set_cookie("language", "es")
    text = Page(client.get("/orders/table").text).text
    assert "títulos con order, customer, due, product, quantity y, si se quiere, earliest, weight." in text
