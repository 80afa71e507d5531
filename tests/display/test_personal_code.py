"""Critical sign-offs ask for a personal code, from the first one on that was given out."""

from typing import Any

import pytest

from display.access.signing import critical
from display.api.commands import PUBLIC_COMMANDS
from orchestrator.core.ids import CrewId
from orchestrator.ports.access import Role
from tests.display.conftest import Clients
from tests.fakes.access import PASSPHRASE, Door, said, token_of
from tests.fakes.gateway import FakeGateway

MANAGER, COOK = CrewId("manager"), CrewId("early-cook")
BASE = {"command_id": "one", "person": "manager"}
RELEASE = {"lot": "C1", "decision": "release", "reason": "cooled again", "command_id": "one"}
JSON = {"Accept": "application/json"}


@pytest.mark.parametrize(
    ("command", "wanted"),
    [
        ({"kind": "decide_lot", "lot": "C1", "decision": "release", "reason": "x"}, True),
        ({"kind": "decide_lot", "lot": "C1", "decision": "rework", "reason": "x"}, True),
        ({"kind": "decide_lot", "lot": "C1", "decision": "discard", "reason": "x"}, False),
        ({"kind": "start_task", "task": "C1.cook"}, False),
        ({"kind": "start_task", "task": "C1.cook", "override_reason": "no probe"}, True),
        ({"kind": "finish_task", "task": "C1.cook", "override_reason": "no probe"}, True),
        ({"kind": "finish_task", "task": "C1.cook"}, False),
        ({"kind": "skip_task", "task": "C1.cook", "reason": "x"}, False),
        ({"kind": "close_deviation", "deviation": "DEV-1"}, True),
        ({"kind": "look_through", "lot": "C1"}, True),
        ({"kind": "apply_offset", "probe": "fridge-air", "offset_c": 0.4}, True),
        ({"kind": "receive_delivery", "ingredient": "Milk", "outcome": "accepted", "reason": "still fit"}, True),
        ({"kind": "receive_delivery", "ingredient": "Milk", "outcome": "refused", "reason": "warm"}, False),
        ({"kind": "replace_ingredient", "ingredient": "Milk", "by": "Oat", "allergens": ["oats"], "reason": "x"}, True),
        ({"kind": "replace_ingredient", "ingredient": "Milk", "by": "Other milk", "reason": "x"}, False),
        ({"kind": "undo", "act": 1}, False),
    ],
)
def test_critical_is_what_somebody_answers_for_in_person(command: dict[str, Any], wanted: bool) -> None:
    assert critical(PUBLIC_COMMANDS.validate_python({**BASE, **command})) is wanted


class Station:
    """A paired station at which somebody stands."""

    def __init__(self, clients: Clients, door: Door, who: str) -> None:
        self.client = clients(screen=door.paired(Role.STATION))
        self.client.set_cookie("person", who)
        self.token = token_of(self.client)

    def release(self, **more: str) -> Any:
        """Release a held lot."""
        data = {**RELEASE, "form_token": self.token, **more}
        answer = self.client.post("/acts/lot", data=data, headers=JSON)
        return answer.status_code, answer.json


def test_sign_off_asks_for_no_code_before_the_first_is_given_out(
    client_of: Clients, door: Door, gateway: FakeGateway
) -> None:
    assert Station(client_of, door, MANAGER).release()[0] == 200
    assert len(gateway.submitted) == 1


def test_sign_off_is_asked_for_and_taken_with_the_right_code(
    client_of: Clients, door: Door, gateway: FakeGateway
) -> None:
    door.store.set_code(MANAGER, "470816", door.now())
    station = Station(client_of, door, MANAGER)
    status, told = station.release()
    assert (status, told["outcome"]) == (409, "refused")
    assert "needs the personal code of" in told["says"]
    (ask,) = told["asks"]
    again = {key: text for key, text in RELEASE.items() if key != "command_id"}
    assert (ask["action"], ask["field"], ask["fields"]) == ("/acts/lot", "personal_code", again)
    status, told = station.release(personal_code="111112")
    assert status == 409
    assert "not the personal code" in told["says"]
    assert "forgotten" in told["remedy"]
    assert gateway.submitted == []
    assert station.release(personal_code="470816")[0] == 200
    assert len(gateway.submitted) == 1
    assert door.reasons() == ["wrong code"]
    assert door.store.refused()[0].what == "decide_lot as manager"


def test_sign_off_of_somebody_without_a_code_says_who_can_help(client_of: Clients, door: Door) -> None:
    door.store.set_code(MANAGER, "470816", door.now())
    status, told = Station(client_of, door, COOK).release(personal_code="470816")
    assert status == 409
    assert "has no personal code" in told["says"]
    assert "under Access" in told["remedy"]
    assert "asks" not in told


def test_wrong_codes_slow_down_that_person_and_nobody_else(client_of: Clients, door: Door) -> None:
    door.store.set_code(MANAGER, "470816", door.now())
    door.store.set_code(COOK, "290417", door.now())
    station, other = Station(client_of, door, MANAGER), Station(client_of, door, COOK)
    for _ in range(4):
        assert station.release(personal_code="111112")[0] == 409
    status, told = station.release(personal_code="470816")
    assert status == 409
    assert "Wait 2\u00a0s" in told["remedy"]
    assert other.release(personal_code="290417")[0] == 200
    door.seconds += 2
    assert station.release(personal_code="470816")[0] == 200


def test_program_signs_with_a_header(client_of: Clients, door: Door, gateway: FakeGateway) -> None:
    door.store.set_code(MANAGER, "470816", door.now())
    client = client_of(screen=door.paired(Role.STATION))
    command = {**BASE, "kind": "close_deviation", "deviation": "DEV-1"}
    refused = client.post("/api/v1/commands", json=command)
    assert (refused.status_code, refused.json["thing"]) == (403, "sign-off")
    taken = client.post("/api/v1/commands", json=command, headers={"Personal-Code": "470816"})
    assert taken.status_code == 200
    assert len(gateway.submitted) == 1


def test_code_is_set_at_a_station_with_the_managers_passphrase_only(client_of: Clients, door: Door) -> None:
    station = Station(client_of, door, COOK)
    typed = {"person": COOK, "code": "290417", "again": "290417", "form_token": station.token}
    station.client.post("/code", data={**typed, "passphrase": "wrong"})
    assert door.store.codes() == {}
    station.client.post("/code", data={**typed, "passphrase": PASSPHRASE})
    assert door.store.is_code(COOK, "290417")


@pytest.mark.parametrize(
    ("code", "again", "why"),
    [("123", "123", "4 to 6 digits"), ("12a4", "12a4", "4 to 6 digits"), ("4711", "4712", "differ"),
     ("1234", "1234", "guessed first"), ("7777", "7777", "guessed first"), ("6543", "6543", "guessed first")],
)  # fmt: skip
def test_code_that_is_none_or_is_guessed_first_is_not_set(
    code: str, again: str, why: str, client_of: Clients, door: Door
) -> None:
    manager = client_of(manager=door.signed_in())
    manager.post("/code", data={"person": COOK, "code": code, "again": again, "form_token": token_of(manager)})
    assert why in said(manager)
    assert door.store.codes() == {}


def test_manager_takes_a_code_away_by_leaving_it_empty(client_of: Clients, door: Door) -> None:
    door.store.set_code(COOK, "290417", door.now())
    manager = client_of(manager=door.signed_in())
    manager.post("/code", data={"person": COOK, "code": "", "form_token": token_of(manager), "from": "access"})
    assert door.store.codes() == {}


def test_spanish_reader_is_asked_in_spanish(client_of: Clients, door: Door) -> None:
    door.store.set_code(MANAGER, "470816", door.now())
    station = Station(client_of, door, MANAGER)
    station.client.set_cookie("language", "es")
    _, told = station.release()
    assert "hace falta el código personal de" in told["says"]
    assert told["asks"][0]["label"] == "Firmar"
