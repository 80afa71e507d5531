"""What former days have left for whoever looks for it: records, traces and files as they were."""

import re
from dataclasses import replace
from datetime import datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import pytest

from display.changing import unpacked
from orchestrator.core.days import moved
from orchestrator.core.ids import OrderId
from orchestrator.core.models.change import AddOrder
from tests.core.stock_script import churned_and_tempered
from tests.core.test_material import Life
from tests.display.test_desk_pages import client_of, page_of, text_of
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at


@pytest.fixture(scope="module")
def former(tmp_path_factory: pytest.TempPathFactory) -> tuple[Life, KitchenGateway]:
    """A kitchen made by chance whose first days are over."""
    life = Life(36, tmp_path_factory.mktemp("kitchen"))
    life.run(220)
    now = life.script.kitchen.planned_until + timedelta(days=3)
    event = moved(life.script.state, now)
    assert event is not None
    assert event.lots
    gateway = gateway_of(life, now)
    gateway.happen(event)
    return life, gateway


def gateway_of(life: Life, now: datetime) -> KitchenGateway:
    gateway = KitchenGateway(life.script.state, now)
    gateway.records = list(life.script.log)
    return gateway


def test_former_lots_are_listed_and_found_with_record_trace_and_csv(former: tuple[Life, KitchenGateway]) -> None:
    _, gateway = former
    past = gateway.state.past
    client = client_of(gateway)
    page = client.get("/lots").text
    assert "Lots of former days" in page
    begun = [lot for lot in past.batches if lot in gateway.state.begun]
    assert begun
    for lot in (*begun, *past.stock):
        assert f'href="/record/{lot}"' in page
        assert client.get(f"/record/{lot}").status_code == 200
        assert client.get(f"/trace/{lot}").status_code == 200
        assert client.get(f"/csv/acts.csv?lot={lot}").status_code == 200
        assert f"\r\n{lot}," in client.get("/csv/lots.csv").text


def test_former_orders_are_found_and_stay_in_the_files(former: tuple[Life, KitchenGateway]) -> None:
    _, gateway = former
    assert gateway.state.past.orders
    client = client_of(gateway)
    for order in gateway.state.past.orders.values():
        assert f"\r\n{order.id}," in client.get("/csv/orders.csv").text
        assert order.id in text_of(page_of(gateway, f"/trace?lot={order.id}"))
        assert f'href="/orders#{order.id}"' not in client.get(f"/trace?lot={order.id}").text


def test_new_order_for_the_same_customer_on_the_same_day_of_the_week_gets_a_name_of_its_own(
    former: tuple[Life, KitchenGateway],
) -> None:
    _, gateway = former
    old = next(iter(gateway.state.past.orders.values()))
    past = replace(gateway.state.past, orders={OrderId("FRI-GUEST-9"): old.model_copy(update={"id": "FRI-GUEST-9"})})
    again = KitchenGateway(replace(gateway.state, past=past), gateway.now)
    client = client_of(again)
    due = gateway.now + timedelta(days=(4 - gateway.now.weekday()) % 7 or 7)
    sent = {"customer": "Guest 9", "due": f"{due:%Y-%m-%d}T12:00", "rows": "1", "weight": "1"}
    sent |= {"product_0": str(old.lines[0].product), "quantity_0": "2"}
    answer = client.post("/orders/new", data=sent)
    assert answer.status_code == 303, re.findall("field-fault[^<]*<?[^<]*", answer.text)
    (change,) = unpacked(parse_qs(urlsplit(answer.headers["Location"]).query)["c"][0])
    assert isinstance(change, AddOrder)
    assert change.order.id == "FRI-GUEST-9-2"


def test_record_of_a_lot_reads_the_same_after_its_days_are_over(former: tuple[Life, KitchenGateway]) -> None:
    life, gateway = former
    then = gateway_of(life, gateway.now)
    for lot in gateway.state.past.batches:
        if lot in gateway.state.begun:
            was, now = (text_of(page_of(one, f"/record/{lot}")) for one in (then, gateway))
            assert steps_of(now) == steps_of(was), lot


def steps_of(text: str) -> str:
    """What was done, by whom and when; above it stands what is left of it and for whom it is meant."""
    return text.partition("Steps")[2]


def test_churned_lot_still_here_is_no_former_one() -> None:
    gateway = KitchenGateway(churned_and_tempered().state, at("Thu 12:00"))
    assert "Lots of former days" not in client_of(gateway).get("/lots").text
