"""Who is here: picked at the shift's start, shown at the station, and who is missed."""

from urllib.parse import parse_qs, urlsplit

from flask.testing import FlaskClient

from display.app import create_app
from display.changing import unpacked
from display.views import CoreViews
from orchestrator.core.models.change_crew import Absent
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing


def house(when: str = "Wed 06:15") -> tuple[KitchenGateway, FlaskClient]:
    gateway = KitchenGateway(base_ageing(), at(when))
    return gateway, create_app(gateway, CoreViews()).web.test_client()


def shown(client: FlaskClient, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200
    return Page(answer.text.replace("<", " <")).text.replace("\u00a0", " ")


def test_who_picks_themself_in_their_shift_is_here_and_shown_at_the_station() -> None:
    gateway, client = house()
    assert "Here: nobody has said so" in shown(client, "/station/stove")
    client.post("/person", data={"person": "early-cook"})
    assert gateway.state.attendance.since("early-cook", gateway.now) == at("Wed 06:15")  # type: ignore[arg-type]
    assert "Here: Early cook" in shown(client, "/station/stove")
    assert [record.event.kind for record in gateway.records] == ["person_came"]
    client.post("/person", data={"person": "early-cook"})
    assert [record.event.kind for record in gateway.records] == ["person_came"]


def test_who_looks_in_at_another_time_is_not_down_as_here_but_may_say_so() -> None:
    gateway, client = house("Wed 22:30")
    client.post("/person", data={"person": "early-cook"})
    assert gateway.records == []
    assert client.post("/acts/come_in", data={}).status_code == 303
    assert "Early cook here since 22:30" in shown(client, "/crew")
    assert client.post("/acts/go_home", data={}).status_code == 303
    assert "Early cook has not said so" in shown(client, "/crew")


def test_somebody_not_on_the_crew_list_is_refused() -> None:
    gateway, client = house()
    assert client.post("/person", data={"person": "stranger"}).status_code == 404
    client.set_cookie("person", "stranger")
    answer = client.post("/acts/come_in", data={}, headers={"Accept": "application/json"})
    assert answer.status_code == 409
    assert gateway.records == []


def test_whose_shift_began_without_them_is_offered_as_absent_until_its_end() -> None:
    _, client = house("Wed 06:15")
    page = Page(client.get("/crew").text)
    assert "Early cook: shift since 06:00, until 14:00." in page.text
    (change,) = unpacked(parse_qs(urlsplit(page.links["Not coming: see what it does"]).query)["c"][0])
    assert change == Absent.model_validate({"crew": "early-cook", "start": at("Wed 06:15"), "end": at("Wed 14:00")})
    client.post("/person", data={"person": "early-cook"})
    assert "Nobody's shift has begun without them." in shown(client, "/crew")


def test_crew_page_is_reached_from_the_way_in_and_from_the_station() -> None:
    _, client = house()
    for path in ("/", "/station/stove"):
        assert "/crew" in Page(client.get(path).text).links.values()
