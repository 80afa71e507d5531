"""The way in, with a passphrase: screens paired by a code or a spare's, and the manager."""

import re

import pytest

from display.access.brake import CROWD
from orchestrator.ports.access import Role, Wish
from tests.display.conftest import Clients
from tests.fakes.access import PASSPHRASE, Door, said, sign_in, token_of
from tests.fakes.gateway import FakeGateway

# -- Nobody known


def test_unknown_screen_is_led_to_a_code_from_any_page(client_of: Clients, door: Door) -> None:
    answer = client_of().get("/board?by=order")
    assert (answer.status_code, answer.location) == (303, "/pair?back=/board%3Fby%3Dorder")
    assert door.reasons() == [], "a new screen is no trespasser"


@pytest.mark.parametrize("path", ["/api/v1/board", "/api/v1/nothing", "/api/v1/openapi.json"])
def test_unknown_program_is_told_so_and_learns_nothing(path: str, client_of: Clients) -> None:
    answer = client_of().get(path)
    assert (answer.status_code, answer.mimetype) == (401, "application/problem+json")
    assert answer.headers["WWW-Authenticate"] == "Bearer"


def test_unknown_screens_tap_stays_with_it_until_it_is_paired(client_of: Clients, gateway: FakeGateway) -> None:
    answer = client_of().post("/acts/start", data={"task": "X"}, headers={"Accept": "application/json"})
    assert (answer.status_code, answer.json["outcome"]) == (401, "late"), "late: kept in the browser, sent again"
    assert gateway.submitted == []


@pytest.mark.parametrize("path", ["/pair", "/sign-in", "/static/nothing.css"])
def test_pages_for_the_unknown_tell_nothing_of_the_kitchen(path: str, client_of: Clients, gateway: FakeGateway) -> None:
    text = client_of().get(path).text
    kitchen = gateway.snapshot().state.kitchen
    assert kitchen is not None
    names = [kitchen.name, kitchen.time_zone, *(one.name for one in (*kitchen.crew, *kitchen.stations))]
    assert [name for name in names if name in text] == []


NO_ADDRESS = "http://[x/"
"""RFC 3986, 3.2.2: a bracket opens an IPv6 address and must be closed."""


def test_what_is_no_address_leads_nowhere_and_is_no_site_of_ours(client_of: Clients, door: Door) -> None:
    stranger, manager = client_of(), client_of(manager=door.signed_in())
    assert stranger.get("/pair", query_string={"back": NO_ADDRESS}).status_code == 200
    assert stranger.post("/board", headers={"Referer": NO_ADDRESS}).location == "/pair?back=/"
    for name in ("Origin", "Referer"):
        assert manager.post("/acts/start", data={"task": "X"}, headers={name: NO_ADDRESS}).status_code == 403
    assert [(one.reason, one.count) for one in door.store.refused()] == [("foreign site", 2)]


# -- Pairing


def test_pairing_goes_on_by_itself_once_the_manager_has_typed_the_code(client_of: Clients, door: Door) -> None:
    screen, manager = client_of(), client_of(manager=door.signed_in())
    shown = screen.get("/pair?back=/station/stove").text
    code = "".join(re.findall(r"<span>(\w{3})</span>", shown))
    assert len(code) == 6
    assert "".join(re.findall(r"<span>(\w{3})</span>", screen.get("/pair").text)) == code, "loading again keeps it"
    assert screen.get("/pair/state").json == {"state": "waiting"}
    wish = {"pairing_code": code.lower(), "screen_name": "Stove", "place": "left", "role": "station"}
    assert manager.post("/access/approve", data={**wish, "form_token": token_of(manager)}).status_code == 303
    answer = screen.get("/pair/state")
    assert answer.json == {"state": "in"}
    assert screen.get("/stations").status_code == 200
    assert screen.get("/access").location == "/sign-in?back=/access"
    (listed,) = door.store.screens()
    assert (listed.name, listed.place, listed.role) == ("Stove", "left", Role.STATION)


def test_code_of_a_screen_is_of_no_use_to_who_reads_it_off(client_of: Clients, door: Door) -> None:
    screen, thief = client_of(), client_of(source="192.0.2.66")
    screen.get("/pair")
    thief.get("/pair")
    code = screen.get_cookie("pairing").value.partition(".")[2]
    assert door.store.approve(code, Wish("Stove", "", Role.STATION), door.now())
    assert thief.get("/pair/state").json == {"state": "waiting"}
    assert screen.get("/pair/state").json == {"state": "in"}


def test_code_is_over_after_ten_minutes(client_of: Clients, door: Door) -> None:
    screen = client_of()
    screen.get("/pair")
    door.seconds = 601
    assert screen.get("/pair/state").json == {"state": "out"}
    assert client_of().get("/pair/state").json == {"state": "out"}


def test_codes_asked_for_too_often_are_refused_with_how_long(client_of: Clients, door: Door) -> None:
    for _ in range(10):
        assert client_of().get("/pair").status_code == 200
    answer = client_of().get("/pair")
    assert (answer.status_code, answer.headers["Retry-After"]) == (429, "600")
    assert client_of(source="192.0.2.8").get("/pair").status_code == 200, "another source is not hindered"
    assert door.reasons() == ["rate limit"]


def test_spare_pairs_without_a_manager_once(client_of: Clients, door: Door) -> None:
    ((_, code),) = door.store.make_spares([Wish("Spare 1", "", Role.STATION)], door.now())
    screen = client_of()
    typed = {"spare": f"{code[:4].lower()} {code[4:8]}-{code[8:]}", "back": "/station/stove"}
    answer = screen.post("/pair/spare", data=typed)
    assert (answer.status_code, answer.location) == (303, "/station/stove")
    assert screen.get("/stations").status_code == 200
    again = client_of().post("/pair/spare", data=typed)
    assert again.status_code == 403
    assert "no code of an unused spare" in again.text
    assert door.reasons() == ["wrong code"]


def test_spare_typed_wrong_slows_down_that_source_alone(client_of: Clients, door: Door) -> None:
    for _ in range(4):
        client_of().post("/pair/spare", data={"spare": "A" * 16})
    ((_, code),) = door.store.make_spares([Wish("Spare 1", "", Role.STATION)], door.now())
    blocked = client_of().post("/pair/spare", data={"spare": code})
    assert (blocked.status_code, blocked.headers["Retry-After"]) == (429, "2")
    assert client_of(source="192.0.2.8").post("/pair/spare", data={"spare": code}).status_code == 303


def test_sheet_of_spares_shows_each_code_once_and_they_work(client_of: Clients, door: Door) -> None:
    manager = client_of(manager=door.signed_in())
    wish = {"screen_name": "Spare", "place": "", "role": "station", "count": "2", "form_token": token_of(manager)}
    sheet = manager.post("/access/spares", data=wish)
    codes = re.findall(r'class="spare-code">([\w ]+)<', sheet.text)
    assert len(codes) == 2
    assert sheet.headers["Cache-Control"] == "no-store"
    assert client_of().post("/pair/spare", data={"spare": codes[1]}).status_code == 303
    used = [(one.name, one.used_at is not None) for one in door.store.spares()]
    assert used == [
        ("Spare 1", False),
        ("Spare 2", True),
    ]
    assert codes[0] not in manager.get("/access").text


def test_screen_revoked_is_out_with_its_next_request(client_of: Clients, door: Door) -> None:
    screen = client_of(screen=door.paired(Role.STATION))
    manager = client_of(manager=door.signed_in())
    assert screen.get("/stations").status_code == 200
    (listed,) = door.store.screens()
    manager.post("/access/revoke", data={"screen": listed.id, "form_token": token_of(manager)})
    assert screen.get("/stations").location.startswith("/pair")
    assert door.reasons() == ["bad token"]


def test_screen_is_listed_with_when_it_was_seen(client_of: Clients, door: Door) -> None:
    screen = client_of(screen=door.paired(Role.STATION))
    door.seconds = 3600
    screen.get("/stations")
    assert door.store.screens()[0].seen_at == door.now()


# -- The manager


def test_manager_signs_in_and_out_and_a_session_ends_after_twelve_hours(client_of: Clients, door: Door) -> None:
    manager = client_of()
    assert sign_in(manager, back="/planning").location == "/planning"
    assert manager.get("/access").status_code == 200
    door.seconds = 12 * 3600 + 1
    assert manager.get("/access").location == "/sign-in?back=/access"
    sign_in(manager)
    token = token_of(manager)
    assert manager.post("/sign-out", data={"form_token": token}).location == "/"
    assert manager.get("/access").location == "/sign-in?back=/access"


def test_wrong_passphrases_slow_down_their_source_and_no_station(client_of: Clients, door: Door) -> None:
    thief, station = client_of(source="192.0.2.66"), client_of(screen=door.paired(Role.STATION))
    waits = []
    for _ in range(7):
        answer = sign_in(thief, "wrong")
        while answer.status_code == 429:
            waits.append(int(answer.headers["Retry-After"]))
            assert f"wait {waits[-1]}\u00a0s" in answer.text
            assert "Paired screens work on" in answer.text
            door.seconds += waits[-1]
            answer = sign_in(thief, "wrong")
        assert answer.status_code == 403
    assert waits == [2, 4, 8]
    assert sign_in(thief).status_code == 429, "also the right one waits, so that nobody learns by trying"
    assert station.get("/stations").status_code == 200
    assert sign_in(client_of()).status_code == 303, "the manager from elsewhere does not wait for a thief's pauses"
    assert door.reasons().count("wrong passphrase") + door.reasons().count("rate limit") >= 2


def test_wrong_passphrases_from_everywhere_are_spaced_but_not_for_paired_screens(
    client_of: Clients, door: Door
) -> None:
    for number in range(CROWD + 1):
        sign_in(client_of(source=f"198.51.100.{number}"), "wrong")
    assert sign_in(client_of(source="203.0.113.9")).status_code == 429
    station = client_of(screen=door.paired(Role.STATION), source="203.0.113.10")
    assert sign_in(station, form_token=token_of(station)).status_code == 303
    door.seconds += 3
    assert sign_in(client_of(source="203.0.113.9")).status_code == 303


def test_passphrase_is_changed_by_who_knows_it_and_everybody_else_is_out(client_of: Clients, door: Door) -> None:
    manager, other = client_of(manager=door.signed_in()), client_of(manager=door.signed_in())
    typed = {"new_passphrase": "quartz ribbon anvil meadow", "again": "quartz ribbon anvil meadow"}
    manager.post("/access/passphrase", data={**typed, "passphrase": "wrong", "form_token": token_of(manager)})
    assert door.store.is_passphrase(PASSPHRASE)
    manager.post("/access/passphrase", data={**typed, "passphrase": PASSPHRASE, "form_token": token_of(manager)})
    assert door.store.is_passphrase("quartz ribbon anvil meadow")
    assert manager.get("/access").status_code == 200
    assert other.get("/access").location == "/sign-in?back=/access"


@pytest.mark.parametrize(
    ("new", "again"), [("walnut ferry", "walnut fern"), ("short", "short"), ("aaaabbbbaaaabbbb", "aaaabbbbaaaabbbb")]
)
def test_passphrase_that_is_weak_or_mistyped_is_not_set(new: str, again: str, client_of: Clients, door: Door) -> None:
    manager = client_of(manager=door.signed_in())
    typed = {"new_passphrase": new, "again": again, "passphrase": PASSPHRASE, "form_token": token_of(manager)}
    manager.post("/access/passphrase", data=typed)
    assert "Not set" in said(manager)
    assert door.store.is_passphrase(PASSPHRASE)
