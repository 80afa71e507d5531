"""Counter and demand: par levels, the closing count with its arithmetic, hours, what to make next."""

from urllib.parse import parse_qs, urlsplit

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.changing import unpacked
from display.formats import Formats
from display.telling import Teller
from display.views import CoreViews
from display.words import Words
from orchestrator.core.models.change import AddOrder, Change, CloseCounter, SetPar
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing


@pytest.fixture
def gateway() -> KitchenGateway:
    return KitchenGateway(base_ageing(), at("Wed 20:30"))


@pytest.fixture
def client(gateway: KitchenGateway) -> FlaskClient:
    made = create_app(gateway, CoreViews()).web.test_client()
    made.set_cookie("person", "manager")
    return made


def changes_of(location: str) -> tuple[Change, ...]:
    return unpacked(parse_qs(urlsplit(location).query)["c"][0])


def carried_out(client: FlaskClient, location: str) -> str:
    """The preview's text; its button is pressed."""
    page = Page(client.get(location).text)
    client.post("/changes", data=page.form("/changes").fields)
    return page.text.replace("\u00a0", " ")


def test_evening_goes_from_par_over_the_count_to_the_order_for_the_morning(
    client: FlaskClient, gateway: KitchenGateway
) -> None:
    assert "No counter has a par level yet" in Page(client.get("/demand").text).text
    answer = client.post("/demand/par", data={"station": "counter", "par_basil-custard": "6", "by": "09:45"})
    (par,) = changes_of(answer.headers["Location"])
    assert isinstance(par, SetPar)
    carried_out(client, answer.headers["Location"])
    page = Page(client.get("/demand").text)
    assert "par 6 L by 09:45" in page.text.replace("\u00a0", " ")
    assert "What is missing to par becomes an order for the morning" in page.text
    form = page.form("/demand/count").fields
    answer = client.post("/demand/count", data={**form, "count_basil-custard": "1,5"})
    count, order = changes_of(answer.headers["Location"])
    assert isinstance(count, CloseCounter)
    assert isinstance(order, AddOrder)
    assert (order.order.due, order.order.lines[0].quantity.value) == (at("Thu 09:45"), 4.5)
    told = carried_out(client, answer.headers["Location"])
    assert "par 6 L − left 1.5 L = 4.5 L missing" in told
    assert gateway.state.kitchen is not None
    assert order.order in gateway.state.kitchen.orders
    assert "Last counted: 1.5 L, 20:30, by Manager" in Page(client.get("/demand").text).text.replace("\u00a0", " ")


def counter_with_par(client: FlaskClient) -> None:
    sent = {"station": "counter", "par_basil-custard": "4", "par_damson-sorbet": "2", "by": "09:45"}
    carried_out(client, client.post("/demand/par", data=sent).headers["Location"])


def test_count_far_above_par_is_asked_about_one_by_one_and_goes_on_once_somebody_is_sure(
    client: FlaskClient, gateway: KitchenGateway
) -> None:
    counter_with_par(client)
    form = Page(client.get("/demand").text).form("/demand/count").fields
    typed = {**form, "count_basil-custard": "40", "count_damson-sorbet": "1500"}
    answer = client.post("/demand/count", data=typed)
    page = Page(answer.text)
    assert answer.status_code == 422
    assert "Is that so? Basil custard: 40 L does not fit: its par is 4 L." in page.text.replace("\u00a0", " ")
    (sure,) = (form for form in page.forms if form.fields.get("sure_count_basil-custard") == "yes")
    assert sure.action == "/demand/count"
    assert page.form("/demand/count").fields["count_damson-sorbet"] == "1500"  # nothing typed is lost
    page = Page(client.post("/demand/count", data=sure.fields).text)
    assert "Damson sorbet: 1500 L does not fit: its par is 2 L" in page.text.replace("\u00a0", " ")
    (meant,) = (form for form in page.forms if form.fields.get("count_damson-sorbet") == "1.5 L")
    answer = client.post("/demand/count", data=meant.fields)
    (count,) = (c for c in changes_of(answer.headers["Location"]) if isinstance(c, CloseCounter))
    told = [(one.product, one.quantity.value, one.sure) for one in count.counts]
    assert told == [("basil-custard", 40.0, True), ("damson-sorbet", 1.5, False)]
    carried_out(client, answer.headers["Location"])
    counted = {product: one.quantity.value for (_, product), one in gateway.state.by_hand.counts.items()}
    assert counted == {"basil-custard": 40.0, "damson-sorbet": 1.5}


def test_count_far_above_par_is_asked_about_in_spanish_too(client: FlaskClient) -> None:
    counter_with_par(client)
    client.set_cookie("language", "es")
    answer = client.post("/demand/count", data={"station": "counter", "count_basil-custard": "40"})
    told = Page(answer.text).text.replace("\u00a0", " ")
    assert "40 L no encaja: su nivel es de 4 L." in told
    assert "Son 40 L" in told


def test_question_is_closed_to_the_page_that_can_be_opened(client: FlaskClient) -> None:
    counter_with_par(client)
    page = Page(client.post("/demand/count", data={"station": "counter", "count_basil-custard": "40"}).text)
    assert page.links["Close"] == "/demand"


def test_order_to_par_is_named_in_the_readers_language() -> None:
    tell = Teller("es", Formats("UTC", "C", Words("es")), "C", {"Counter": "Mostrador"}, twelve=False)
    assert tell.name("Counter, to par") == "Mostrador, hasta el nivel"
    assert tell.name("Rowing club, to party") == "Rowing club, to party"
    assert (
        Teller("en", Formats("UTC", "C", Words()), "C", {}, twelve=False).name("Counter, to par") == "Counter, to par"
    )


def test_program_that_hands_in_a_count_far_above_par_is_asked_too(client: FlaskClient, gateway: KitchenGateway) -> None:
    counter_with_par(client)
    count = {"product": "basil-custard", "quantity": {"value": 40, "unit": "L"}}
    change = {"change": "closing count", "station": "counter", "counts": [count]}
    command = {"kind": "change_kitchen", "command_id": "c1", "person": "manager", "changes": [change]}
    answer = client.post("/api/v1/commands", json=command)
    assert (answer.status_code, answer.json["type"]) == (422, "/problems/doubtful")
    count["sure"] = True
    assert client.post("/api/v1/commands", json={**command, "command_id": "c2"}).status_code in (200, 202)
    assert [one.quantity.value for one in gateway.state.by_hand.counts.values()] == [40.0]


def test_hours_of_a_day_become_orders(client: FlaskClient) -> None:
    sent = {"station": "counter", "product": "damson-sorbet", "day": "2026-11-28", "hour_11": "2", "hour_13": "1.5"}
    answer = client.post("/demand/hours", data=sent)
    orders = [c.order for c in changes_of(answer.headers["Location"]) if isinstance(c, AddOrder)]
    assert [(order.due, order.lines[0].quantity.value) for order in orders] == [
        (at("Sat 11:00"), 2.0),
        (at("Sat 13:00"), 1.5),
    ]


HOURS = {"station": "counter", "product": "damson-sorbet", "day": "2026-11-28"}


@pytest.mark.parametrize(
    ("path", "sent", "fault", "says"),
    [
        ("par", {"station": "counter", "par_basil-custard": "six"}, "par-fault-par_basil-custard", "six is no amount"),
        ("par", {"station": "counter", "par_basil-custard": "6", "by": "99:99"}, "par-fault-by", "Write the time as"),
        ("par", {"station": "counter"}, "par-fault-form", "Nothing was entered"),
        ("hours", {**HOURS, "day": "soon", "hour_9": "1"}, "hours-fault-day", "day as"),
        ("hours", {**HOURS, "product": "x"}, "hours-fault-product", "Pick a product."),
        ("hours", {**HOURS, "station": "x"}, "hours-fault-station", "Pick a counter."),
    ],
)  # fmt: skip
def test_fault_stands_beside_its_field_and_what_was_typed_stays(
    client: FlaskClient, path: str, sent: dict[str, str], fault: str, says: str
) -> None:
    answer = client.post(f"/demand/{path}", data=sent)
    page = Page(answer.text)
    assert answer.status_code == 422
    assert fault in page.ids
    assert says in page.text
    kept = page.form(f"/demand/{path}").fields
    assert all(kept[name] == value for name, value in sent.items() if name.startswith(("par_", "hour_", "day")))


def test_what_to_make_next_tells_its_reasons(client: FlaskClient) -> None:
    text = Page(client.get("/demand").text).text.replace("\u00a0", " ")
    assert "What to make next" in text
    assert "Churn is free" in text
