"""Orders long past their time, on the screens: one alarm leads to all of them, and each is decided in two taps."""

import re

from orchestrator.core.alarms import alarm_events
from tests.core.script import in_a_planned_kitchen
from tests.display.page import Page
from tests.display.test_desk_pages import client_of, text_of
from tests.display.test_past_dates_page import plain
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at


def kitchen() -> KitchenGateway:
    """Monday 15:30: neither the stall's custard nor the café's sorbet was ever begun."""
    script = in_a_planned_kitchen()
    gateway = KitchenGateway(script.state, at("Mon 15:30"), facts=script.facts)
    gateway.records = list(script.log)
    gateway.happen(*alarm_events(gateway.state, gateway.facts, gateway.now))
    return gateway


def test_alarm_says_how_many_orders_and_tasks_and_leads_to_them() -> None:
    page = client_of(kitchen(), "manager").get("/alarms").text
    text = plain(text_of(Page(page)))
    assert "2 orders long past their time" in text
    assert "tasks planned for nothing else: 11" in text
    assert '<a class="button" href="/orders#undecided">' in page


def test_each_order_is_left_out_or_moved_in_two_taps_and_what_it_comes_to_is_shown_between() -> None:
    gateway = kitchen()
    client = client_of(gateway, "manager")
    page = client.get("/orders").text
    start = page.index('id="undecided"')
    part = page[start : page.index("</section>", start)]
    assert plain(text_of(Page(part))).count("Tasks planned for it alone") == 2
    for answer in (client.post("/orders/SAT-STALL/drop"), client.get(_moved(part))):
        way = answer.headers.get("Location")
        shown = client.get(way).text if way else answer.text
        assert 'action="/changes' in shown
    # Nothing is done before the second tap.
    assert gateway.state.kitchen is not None
    assert [order.id for order in gateway.state.kitchen.orders] == ["SAT-STALL", "SUN-CAFE"]


def _moved(part: str) -> str:
    """Where the button of a new time leads for the first order: the day after today, at the hour it had."""
    found = re.search(r'href="(/changes\?[^"]+)">New time: ([^<]+)<', part)
    assert found is not None
    assert plain(found[2]) == "Tue 11:00"
    return found[1].replace("&amp;", "&")
