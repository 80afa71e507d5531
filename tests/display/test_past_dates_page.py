"""What is past its date, on the screens: named with lot, place and amount, and two taps from the alarm to the bin."""

from orchestrator.core.alarms import alarm_events
from orchestrator.core.ids import LotCode
from orchestrator.core.state import LotStatus
from tests.core.script import in_a_planned_kitchen
from tests.core.test_past_dates import base, tub, with_best_before
from tests.display.page import Page
from tests.display.test_desk_pages import client_of, page_of, text_of
from tests.display.test_places_pantry import post
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at


def kitchen() -> KitchenGateway:
    """Thursday 13:00: two bases past their use-by in the fridge, a tub past its best-before in the freezer."""
    stock = [base("C90", "Thu 12:00"), base("C91", "Thu 12:30"), tub()]
    script = in_a_planned_kitchen(recipes=with_best_before(), stock=stock)
    gateway = KitchenGateway(script.state, at("Thu 13:00"), facts=script.facts)
    gateway.records = list(script.log)
    gateway.happen(*alarm_events(gateway.state, gateway.facts, gateway.now))
    return gateway


def plain(text: str) -> str:
    return text.replace("\u00a0", " ").replace("\u202f", " ")


def test_alarms_name_each_lot_with_place_amount_and_sort_of_date_and_lead_to_where_it_is_decided() -> None:
    page = page_of(kitchen(), "/alarms")
    text = plain(text_of(page))
    assert "Fridge: 2 lots past their use-by" in text
    assert "C90 Custard base: 1.5 L, Fridge, use by 12:00" in text
    assert "Basil custard is past its best-before" in text
    assert "B90 Basil custard: 2 L, Freezer, best before 05:00" in text


def test_stock_page_offers_one_tap_to_discard_and_only_past_a_best_before_to_keep() -> None:
    gateway = kitchen()
    client = client_of(gateway, "manager")
    page = client.get("/stock").text
    start = page.index('id="past"')
    past = page[start : page.index("</section>", start)]
    assert past.count('value="discard"') == 3
    assert past.count('value="release"') == 1
    assert '<a class="button" href="/stock#past">' in client.get("/alarms").text
    assert post(client, "lot", lot="C90", decision="discard", reason="past its use-by")[0] == 200
    assert gateway.state.lots[LotCode("C90")].status is LotStatus.DISCARDED
    status, says = post(client, "lot", lot="C91", decision="release", reason="smells well")
    assert (status, "past its use-by" in says.lower()) == (409, True)
    assert post(client, "lot", lot="B90", decision="release", reason="tasted")[0] == 200
    assert 'id="past-C91"' in client.get("/stock").text
    assert 'id="past-B90"' not in client.get("/stock").text
    # The alarm names what is left to decide.
    text = plain(text_of(Page(client.get("/alarms").text)))
    assert "C90 Custard base:" not in text
    assert "C91 Custard base:" in text


def test_stock_page_says_in_spanish_which_date_is_which() -> None:
    client = client_of(kitchen(), "manager")
    client.set_cookie("language", "es")
    text = plain(text_of(Page(client.get("/stock").text)))
    assert "Pasada su fecha de caducidad: ni usarlo ni servirlo." in text
    assert "Pasado su consumo preferente: un encargado mira y prueba" in text
