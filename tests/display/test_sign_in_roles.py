"""What each role may, forms and cookies, an open service, and a store that cannot be read."""

import json
from pathlib import Path

import pytest

from display.access.guard import SCREEN_S, Guard
from display.web import create_web
from orchestrator.ports.access import Role, Wish
from tests.display.conftest import Clients
from tests.display.page import Page
from tests.fakes.access import PASSPHRASE, Door, sign_in, token_of
from tests.fakes.gateway import FakeGateway

# -- Roles, forms, headers


def test_viewer_sees_and_is_refused_every_act(client_of: Clients, door: Door, gateway: FakeGateway) -> None:
    viewer = client_of(screen=door.paired(Role.VIEWER, "Window"))
    page = viewer.get("/stations")
    assert page.status_code == 200
    assert "only-looks" in page.text
    token = token_of(viewer)
    answer = viewer.post("/acts/seen", data={"alarm": "X", "form_token": token}, headers={"Accept": "application/json"})
    assert (answer.status_code, answer.json["outcome"]) == (403, "refused")
    assert "only looks" in answer.json["says"]
    assert viewer.post("/api/v1/commands", json={"kind": "tick"}).status_code == 403
    assert gateway.submitted == []
    noted = [(one.who, one.what, one.reason, one.source) for one in door.store.refused()]
    assert sorted(noted) == [
        ("Window", "POST /acts/seen", "role", "192.0.2.7"),
        ("Window", "POST /api/v1/commands", "role", "192.0.2.7"),
    ]


def test_station_cooks_and_orders_are_the_managers(client_of: Clients, door: Door, gateway: FakeGateway) -> None:
    station = client_of(screen=door.paired(Role.STATION))
    token = token_of(station)
    assert station.post("/acts/seen", data={"alarm": "X", "form_token": token}).status_code == 303
    assert len(gateway.submitted) == 1
    assert station.post("/orders/new", data={"form_token": token}).status_code == 403
    order = {"kind": "change_kitchen", "command_id": "c", "person": "manager"}
    order |= {"changes": [{"change": "drop order", "order": "SAT-STALL"}]}
    answer = station.post("/api/v1/commands", json=order)
    assert (answer.status_code, answer.json["remedy"]) == (403, "sign in as manager")
    assert len(gateway.submitted) == 1
    assert client_of(manager=door.signed_in()).post("/api/v1/commands", json=order).status_code != 403


def test_form_without_this_screens_mark_is_refused(client_of: Clients, door: Door, gateway: FakeGateway) -> None:
    station, other = (client_of(screen=door.paired(Role.STATION)) for _ in range(2))
    for token in ("", token_of(other), "0" * 32):
        answer = station.post("/acts/seen", data={"alarm": "X", "form_token": token})
        assert answer.status_code == 403
    assert gateway.submitted == []
    assert door.reasons() == ["bad form token"]
    assert door.store.refused()[0].count == 2, "2, 4, 8 ...: the third of a minute costs no write"


def test_every_form_of_a_page_carries_the_mark_whichever_template_made_it(client_of: Clients, door: Door) -> None:
    manager = client_of(manager=door.signed_in())
    token = token_of(manager)
    for path in ("/access", "/person", "/code"):
        forms = [form for form in Page(manager.get(path).text).forms if form.action]
        assert forms
        assert {form.fields.get("form_token") for form in forms} == {token}


def test_form_of_another_site_is_refused_and_noted_even_with_the_mark(client_of: Clients, door: Door) -> None:
    station = client_of(screen=door.paired(Role.STATION))
    data = {"alarm": "X", "form_token": token_of(station)}
    answer = station.post("/acts/seen", data=data, headers={"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 403
    assert door.reasons() == ["foreign site"]


@pytest.mark.parametrize("scheme", ["http", "https"])
def test_cookies_and_headers_are_as_tight_as_the_way_allows(scheme: str, client_of: Clients, door: Door) -> None:
    ((_, code),) = door.store.make_spares([Wish("Spare 1", "", Role.STATION)], door.now())
    base = f"{scheme}://localhost"
    screen = client_of()
    answer = screen.post("/pair/spare", data={"spare": code}, base_url=base)
    made = [cookie for cookie in answer.headers.getlist("Set-Cookie") if cookie.startswith("screen=")]
    assert len(made) == 1
    parts = {part.strip().partition("=")[0]: part.strip().partition("=")[2] for part in made[0].split(";")[1:]}
    assert ("Secure" in parts) == (scheme == "https")
    assert parts["SameSite"] == "Strict"
    assert "HttpOnly" in parts
    assert int(parts["Max-Age"]) == SCREEN_S
    # OWASP HTTP Headers Cheat Sheet and MDN, from memory: what an application sends to bind a browser.
    told = answer.headers
    assert told["X-Frame-Options"] == "DENY"
    assert told["X-Content-Type-Options"] == "nosniff"
    assert told["Cross-Origin-Opener-Policy"] == "same-origin"
    assert "camera=()" in told["Permissions-Policy"]
    assert "'unsafe-inline'" not in told["Content-Security-Policy"]
    assert ("Strict-Transport-Security" in told) == (scheme == "https")


def test_page_after_a_year_still_keeps_its_screen(client_of: Clients, door: Door) -> None:
    screen = client_of(screen=door.paired(Role.STATION))
    cookies = screen.get("/stations").headers.getlist("Set-Cookie")
    assert [cookie for cookie in cookies if cookie.startswith("screen=") and f"Max-Age={SCREEN_S}" in cookie]


# -- Open, and a store that cannot be read


def test_service_without_a_passphrase_is_open_on_its_own_machine_by_its_own_name(tmp_path: Path) -> None:
    door, gateway = Door(tmp_path, passphrase=""), FakeGateway(practice=False)
    client = create_web(gateway, gateway, door.guard).test_client()
    assert client.get("/stations").status_code == 200
    assert "No passphrase is set" in client.get("/access").text
    elsewhere = client.get("/stations", headers={"Host": "rebound.example"})
    assert elsewhere.location.startswith("/pair")
    assert "open on its own machine only" in client.get("/pair", headers={"Host": "rebound.example"}).text
    first = {"new_passphrase": PASSPHRASE, "again": PASSPHRASE}
    assert client.post("/access/passphrase", data=first).status_code == 303
    assert client.get("/access").status_code == 200, "whoever set it is signed in"
    assert create_web(gateway, gateway, door.guard).test_client().get("/stations").status_code == 303
    door.store.close()


def test_demo_stays_open_and_sets_no_passphrase(gateway: FakeGateway) -> None:
    client = create_web(gateway, gateway, Guard(None)).test_client()
    client.post("/access/passphrase", data={"new_passphrase": PASSPHRASE, "again": PASSPHRASE})
    assert client.get("/stations").status_code == 200
    assert "A demo is open" in client.get("/access").text


def test_store_that_cannot_be_read_stops_no_screen_that_was_known(
    client_of: Clients, door: Door, tmp_path: Path
) -> None:
    screen, stranger = client_of(screen=door.paired(Role.STATION)), client_of(screen="unknown")
    assert screen.get("/stations").status_code == 200
    door.store.close()
    (tmp_path / "access.db").unlink()
    (tmp_path / "access.db").write_bytes(b"no database" * 1000)
    for suffix in ("-wal", "-shm"):
        (tmp_path / f"access.db{suffix}").unlink(missing_ok=True)
    door.seconds = 1800
    assert screen.get("/stations").status_code == 200, "a broken disk at 5 a.m. stops nobody"
    assert stranger.get("/stations").status_code == 503
    door.seconds = 3 * 3600
    assert screen.get("/stations").status_code == 503, "but not for ever"


def test_no_secret_is_in_what_was_noted_or_on_a_page(client_of: Clients, door: Door) -> None:
    screen, session = door.paired(Role.STATION), door.signed_in()
    client, manager = client_of(screen=screen), client_of(manager=session)
    sign_in(client, "a wrong passphrase typed", form_token=token_of(client))
    client.get("/api/v1/board?secret=in-the-query", headers={"Authorization": "Bearer made-up"})
    client_of().post("/pair/spare", data={"spare": "ABCD EFGH JKLM NPQR"})
    everything = manager.get("/access").text + client.get("/stations").text + json.dumps(str(door.store.refused()))
    for secret in (screen, session, "a wrong passphrase typed", "in-the-query", "made-up", "ABCDEFGH", PASSPHRASE):
        assert secret not in everything
