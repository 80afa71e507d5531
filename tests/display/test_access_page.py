"""The manager's page about who may do what: the list of refused acts, in words, and what is not in it."""

import re

import pytest

from display.words import ENGLISH, SPANISH
from orchestrator.core.ids import CrewId
from orchestrator.ports.access import REASONS, RefusedAct, Role
from tests.display.conftest import Clients
from tests.display.page import Page
from tests.fakes.access import Door, sign_in, token_of

LIST = re.compile(r"<h2>(?:Refused acts|Acciones rechazadas)</h2>(.*?)</section>", re.DOTALL)


def rows(html: str) -> list[list[str]]:
    """Cells of the list, a list a row, the newest on top; none where nothing was refused."""
    found = LIST.search(html)
    assert found
    body = found[1].partition("<tbody>")[2]
    cells = [re.findall(r"<td[^>]*>(.*?)</td>", row, re.DOTALL) for row in re.findall(r"<tr>(.*?)</tr>", body)]
    return [[Page(f"<p>{cell}</p>").text.strip() for cell in row] for row in cells]


def test_nothing_refused_yet_says_so(client_of: Clients, door: Door) -> None:
    html = client_of(manager=door.signed_in()).get("/access").text
    assert rows(html) == []
    assert "Nothing was refused yet." in Page(html).text


def test_every_refused_act_is_listed_with_when_from_where_who_what_and_why_the_newest_on_top(
    client_of: Clients, door: Door
) -> None:
    viewer, thief = client_of(screen=door.paired(Role.VIEWER, "Window")), client_of(source="192.0.2.66")
    viewer.post("/acts/seen", data={"alarm": "X", "form_token": token_of(viewer)})
    door.seconds = 120
    sign_in(thief, "walnut ferry lantern iron")
    sign_in(thief, "walnut ferry lantern steel")
    door.seconds = 240
    door.store.set_code(CrewId("manager"), "470816", door.now())
    station = client_of(screen=door.paired(Role.STATION, "Stove tablet"))
    release = {"lot": "C1", "decision": "release", "reason": "smelt and looked at", "command_id": "c1"}
    station.set_cookie("person", "manager")
    station.post("/acts/lot", data={**release, "personal_code": "111112", "form_token": token_of(station)})
    html = client_of(manager=door.signed_in()).get("/access").text
    assert rows(html) == [
        ["Thu 26 Nov 05:04", "192.0.2.7", "Stove tablet", "decide_lot as Manager", "wrong code"],
        ["Thu 26 Nov 05:02", "192.0.2.66", "", "POST /sign-in", "wrong passphrase ×2"],
        ["Thu 26 Nov 05:00", "192.0.2.7", "Window", "POST /acts/seen", "not theirs to do"],
    ]
    assert "111112" not in html
    assert "walnut" not in html


def test_list_is_in_the_readers_language(client_of: Clients, door: Door) -> None:
    door.store.note(RefusedAct(door.now(), "192.0.2.7", "Fuegos", "decide_lot as manager", "rate limit", 4))
    manager = client_of(manager=door.signed_in())
    manager.set_cookie("language", "es")
    assert rows(manager.get("/access").text) == [
        ["jue 26 nov 05:00", "192.0.2.7", "Fuegos", "decide_lot como Manager", "demasiado a menudo ×4"]
    ]


@pytest.mark.parametrize("reason", REASONS)
def test_every_reason_has_words_of_its_own_in_both_languages(reason: str) -> None:
    key = f"reason_{reason.replace(' ', '_')}"
    assert ENGLISH[key] not in {ENGLISH[f"reason_{other.replace(' ', '_')}"] for other in REASONS if other != reason}
    assert SPANISH[key] != ENGLISH[key]
