"""Tokens of programs at a closed door: each scope does what it says, and no token opens a page."""

from pathlib import Path

import pytest
from flask.testing import FlaskClient

from display.access.rules import RULES, SCOPES, Need, for_programs, may
from display.views import CoreViews
from display.web import create_web
from orchestrator.ports.access import Caller, Role, Scope
from tests.browser.full_house import full_house
from tests.fakes.access import Door, token_of

ORDER = {
    "command_id": "shop-1",
    "person": "manager",
    "orders": [
        {"id": "WEB-1", "customer": "Web shop", "due": "2026-11-28T11:00:00Z", "lines": []},
    ],
}
PRESENCE = {"command_id": "in-1", "person": "early-cook", "here": True}


@pytest.fixture
def door(tmp_path: Path) -> Door:
    return Door(tmp_path)


@pytest.fixture
def client(door: Door) -> FlaskClient:
    return create_web(full_house(), CoreViews(), door.guard).test_client()


def brought(door: Door, *scopes: Scope) -> dict[str, str]:
    return {"Authorization": f"Bearer {door.store.make_token('Web shop', frozenset(scopes), door.now())}"}


def status(client: FlaskClient, path: str, headers: dict[str, str], body: object = None) -> int:
    answer = client.post(path, json=body, headers=headers) if body is not None else client.get(path, headers=headers)
    return answer.status_code


def test_each_scope_opens_what_it_says_and_nothing_else(door: Door, client: FlaskClient) -> None:
    refused = {401, 403}
    for scope in Scope:
        headers = brought(door, scope)
        everything = scope is Scope.MANAGE
        assert (status(client, "/api/v1/now", headers) == 200) is (everything or scope is Scope.READ)
        assert (status(client, "/csv/orders.csv", headers) == 200) is (everything or scope is Scope.READ)
        let_order = status(client, "/api/v1/orders", headers, ORDER) not in refused
        assert let_order is (everything or scope is Scope.ORDERS)
        let_act = status(client, "/api/v1/crew/presence", headers, PRESENCE) not in refused
        assert let_act is (everything or scope is Scope.ACT)
        assert status(client, "/api/v1/crew/shifts", headers, {}) == (422 if everything else 403)
    assert set(door.reasons()) == {"scope"}


def test_no_token_opens_a_page_or_sends_a_form(door: Door, client: FlaskClient) -> None:
    headers = brought(door, *Scope)
    assert status(client, "/board", headers) == 403
    assert status(client, "/access", headers) == 403
    assert (
        client.post("/access/tokens", data={"token_name": "more", "scope": "manage"}, headers=headers).status_code
        == 403
    )
    assert [one.name for one in door.store.tokens()] == ["Web shop"]


def test_no_cook_makes_tokens(door: Door, client: FlaskClient) -> None:
    client.set_cookie("screen", door.paired(Role.STATION))
    assert client.get("/access/tokens").location.startswith("/sign-in")
    assert client.post("/access/tokens", data={"form_token": token_of(client)}).status_code == 403


def test_a_revoked_token_and_a_made_up_one_are_nobody(door: Door, client: FlaskClient) -> None:
    headers = brought(door, Scope.READ)
    assert status(client, "/api/v1/now", headers) == 200
    (token,) = door.store.tokens()
    door.store.revoke_token(token.id, door.now())
    door.seconds += 3
    answer = client.get("/api/v1/now", headers=headers)
    assert answer.status_code == 401
    assert answer.headers["WWW-Authenticate"] == "Bearer"
    assert status(client, "/api/v1/now", {"Authorization": "Bearer coldwright_guessed"}) == 401
    assert [(one.reason, one.count) for one in door.store.refused()] == [("bad token", 2)]


def test_the_manager_makes_one_sees_it_once_and_revokes_it(door: Door, client: FlaskClient) -> None:
    client.set_cookie("manager", door.signed_in())
    mark = {"form_token": token_of(client)}
    none = client.post("/access/tokens", data={**mark, "token_name": "Till"}, follow_redirects=True)
    assert "nothing was ticked" in none.text
    made = client.post("/access/tokens", data={**mark, "token_name": "Till", "scope": ["orders", "read"]})
    (token,) = door.store.tokens()
    assert (token.name, token.scopes) == ("Till", {Scope.ORDERS, Scope.READ})
    secret = made.text.split('class="token-secret">')[1].split("<")[0]
    assert door.store.token(secret) == token
    assert secret not in client.get("/access/tokens").text
    client.post("/access/tokens/revoke", data={**mark, "token": str(token.id)})
    assert door.store.tokens()[0].revoked_at == door.now()


def test_what_scopes_mean_covers_every_need_and_every_route_for_programs() -> None:
    assert set(SCOPES.values()) == set(Need) - {Need.NOTHING}
    everything = Caller("token", "one", Role.VIEWER, scopes=frozenset({Scope.MANAGE}))
    nothing = Caller("token", "one", Role.MANAGER)
    for endpoint, need in RULES.items():
        assert may(everything, need)
        assert may(nothing, need) is (need is Need.NOTHING), "a token's role counts for nothing"
        assert for_programs(endpoint) == endpoint.startswith(("api.", "files."))
