"""The page of one probe: what it says, and every act on it; what the record and the alarms make of it."""

import csv
import io

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.views import CoreViews
from orchestrator.core.models.health import Sign
from tests.display.page import Page
from tests.display.probe_scene import FRIDGE, HOB, ProbeGateway, corrected, gateway


def client_of(kitchen: ProbeGateway, person: str = "manager") -> FlaskClient:
    client = create_app(kitchen, CoreViews()).web.test_client()
    if person:
        client.set_cookie("person", person)
    return client


def shown(kitchen: ProbeGateway, path: str, person: str = "manager") -> tuple[Page, str]:
    answer = client_of(kitchen, person).get(path)
    assert answer.status_code == 200
    page = Page(answer.text)
    assert page.inline_styles == page.inline_scripts == []
    assert len(page.ids) == len(set(page.ids))
    return page, page.text.replace("\u00a0", " ").replace("\u202f", " ")


def sent(kitchen: ProbeGateway, act: str, **fields: str) -> str:
    client = client_of(kitchen)
    answer = client.post(
        f"/acts/{act}",
        data={"command_id": f"tap-{act}-{len(kitchen.records)}", **fields},
        headers={"Accept": "application/json", "Origin": "http://localhost"},
    )
    return str(answer.get_json()["outcome"])


def test_page_says_in_numbers_why_a_probe_may_not_be_believed_and_what_cannot_be_known() -> None:
    _, text = shown(gateway(), f"/probe/{FRIDGE}")
    assert "Not to be believed. Meets no target, opens no gate." in text
    assert "Has moved by 1.3 °C against the others in the same air; told from 1.0 °C on, since 09:00" in text
    assert "Battery at 17 %; told from 20 % down" in text
    assert "Clock: this probe sends no time of its own" in text
    assert "battery 17 %" in text


def test_page_names_both_causes_of_a_probe_that_may_be_swapped_or_in_another_unit() -> None:
    kitchen = gateway()
    both = (
        kitchen.facts[FRIDGE]
        .health[0]
        .model_copy(
            update={
                "sign": Sign.SWAPPED,
                "hint": "or fahrenheit as celsius",
                "other": HOB,
                "amount": 18.0,
                "limit": -16.1,
            }
        )
    )
    kitchen.facts = {FRIDGE: kitchen.facts[FRIDGE].model_copy(update={"health": (both,)})}
    _, text = shown(kitchen, f"/probe/{FRIDGE}")
    assert (
        "Reads 18.0 °C outside what its place should have; it and Hob 1 core fit each other's places. Look which hangs "
        "where: either they are swapped, or this one sends Fahrenheit as Celsius, and it is −16.1 °C" in text
    )


def test_page_shows_the_checks_and_the_lots_that_a_failed_one_puts_in_doubt() -> None:
    _, text = shown(gateway(), f"/probe/{HOB}")
    assert "FDA Food Code 2022, 4-203.11" in text
    assert "Failed (±1.0 °C allowed)" in text
    assert "Off by 1.4 °C at its last check; 1.0 °C is allowed" in text
    assert "Passed (±1.0 °C allowed)" in text
    assert "By its last check −1.4 °C would put it right. Nothing is added before somebody confirms it." in text


def test_failed_check_says_by_how_much_at_once_and_a_later_one_takes_the_place_of_what_it_would_have_added() -> None:
    kitchen = gateway()
    client = client_of(kitchen)
    told = []
    for number, reads in enumerate(("2.1", "0.4")):
        fields = {"command_id": f"check-{number}", "probe": FRIDGE, "point": "ice", "shown": reads}
        answer = client.post("/acts/check_probe", data=fields, headers={"Accept": "application/json"})
        told.append(answer.get_json()["says"].replace("\u00a0", " "))
    assert told == ["Check entered, and failed: off by 2.1 °C, 1.0 °C is allowed.", "Check entered"]
    # The panel, as it is streamed to a page that stood open meanwhile.
    _, text = shown(kitchen, f"/probe/{FRIDGE}")
    assert "By its last check −0.4 °C would put it right." in text
    assert 'data-panel="probe-offset:fridge-air"' in client.get(f"/probe/{FRIDGE}").text


def test_checks_are_taken_away_as_csv_with_what_each_puts_in_doubt() -> None:
    text = client_of(gateway()).get("/csv/probe-checks.csv").text
    good, failed = csv.DictReader(io.StringIO(text))
    told = (
        "probe",
        "checked_at",
        "person",
        "point",
        "expected_celsius",
        "shown_celsius",
        "tolerance_celsius",
        "passed",
    )
    assert [good[name] for name in told] == [
        "hob-1-core",
        "2026-11-25T15:00:00Z",
        "manager",
        "ice",
        "0",
        "0.2",
        "1",
        "yes",
    ]
    assert (failed["shown_celsius"], failed["passed"]) == ("1.4", "no")
    assert failed["source"] == "FDA Food Code 2022, 4-203.11"


def test_unknown_probe_is_not_found() -> None:
    assert client_of(gateway()).get("/probe/toaster").status_code == 404


def test_check_is_entered_with_its_point_and_a_reference_needs_its_reading() -> None:
    kitchen = gateway()
    fields = {"probe": HOB, "point": "ice", "shown": "0,3"}
    assert sent(kitchen, "check_probe", **fields) == "done"
    last = kitchen.state.probes.checks[HOB][-1]
    assert (last.shown_c, last.expected_c, last.passed, last.person) == (0.3, 0.0, True, "manager")
    assert sent(kitchen, "check_probe", probe=HOB, point="reference", shown="4.0") == "refused"
    assert sent(kitchen, "check_probe", probe=HOB, point="reference", shown="4.0", reference="4.2") == "done"
    assert sent(kitchen, "check_probe", probe=HOB, point="tea", shown="4.0") == "refused"


def test_offset_is_offered_as_the_check_showed_it_and_once_confirmed_marked_everywhere() -> None:
    kitchen = gateway()
    page, _ = shown(kitchen, f"/probe/{HOB}")
    form = page.form("/acts/offset")
    assert sent(kitchen, "offset", probe=form.fields["probe"], offset=form.fields["offset"]) == "done"
    assert kitchen.state.probes.offset_at(HOB, kitchen.now) == -1.4
    _, text = shown(kitchen, f"/probe/{HOB}")
    assert "−1.4 °C added from then on; before, 0.0 °C" in text
    assert sent(kitchen, "offset", probe=HOB, offset="0") == "done"
    assert kitchen.state.probes.offset_at(HOB, kitchen.now) == 0.0


@pytest.mark.parametrize(
    ("where", "outcome"), [("equipment:fridge", "done"), ("task:B1.churn", "done"), ("hob", "refused"), ("", "refused")]
)
def test_probe_is_put_elsewhere(where: str, outcome: str) -> None:
    assert sent(gateway(), "assign_probe", probe=HOB, where=where, reads="core") == outcome


def test_page_says_where_it_was_and_what_it_last_showed() -> None:
    _, text = shown(corrected(), f"/probe/{HOB}")
    assert "Ice bath, since 15:00" in text
    assert "Hob 1 until 15:00" in text
    _, text = shown(gateway(), f"/probe/{FRIDGE}")
    assert "It last showed 3.4 °C, 14:59." in text


def test_wash_is_asked_for_until_somebody_answers() -> None:
    kitchen = gateway()
    _, text = shown(kitchen, f"/probe/{HOB}")
    assert "It was in C1, which contains egg, milk, and is in S1, which has none of it" in text
    _, alarms = shown(kitchen, "/alarms")
    assert "Was it washed? Hob 1 core" in alarms
    assert sent(kitchen, "washed", probe=HOB) == "done"
    assert kitchen.state.probes.asked == {}
    assert kitchen.state.probes.washes[HOB].person == "manager"


def test_acts_on_a_probe_want_a_named_person() -> None:
    client = client_of(gateway(), person="")
    headers = {"Accept": "application/json", "Origin": "http://localhost"}
    answer = client.post("/acts/washed", data={"command_id": "x", "probe": HOB}, headers=headers).get_json()
    assert (answer["outcome"], answer["more"].partition("?")[0]) == ("refused", "/person")


def test_batch_record_names_the_failed_check_that_puts_the_lot_in_doubt() -> None:
    kitchen = gateway()
    lots = kitchen.state.probes.checks[HOB][-1].in_doubt
    assert lots == ()  # both were off the hob when the good check was made
    checked = ProbeGateway(kitchen.state, kitchen.now)
    checked.state = type(kitchen.state)(**{**_fields(kitchen.state), "probes": type(kitchen.state.probes)()})
    assert sent(checked, "check_probe", probe=HOB, point="ice", shown="-2") == "done"
    assert checked.state.probes.checks[HOB][-1].in_doubt == ("C1", "S1")
    _, text = shown(checked, "/record/C1")
    assert (
        "Hob 1 core failed its check (−2.0 °C in place of 0.0 °C, ±1.0 °C allowed): this lot was judged by it since "
        "its last good check, Manager"
    ) in text


def _fields(state: object) -> dict[str, object]:
    return {name: getattr(state, name) for name in state.__dataclass_fields__}  # type: ignore[attr-defined]


def test_alarms_page_leads_to_the_probe_and_says_why_with_numbers() -> None:
    kitchen = gateway()
    _, text = shown(kitchen, "/alarms")
    assert "Probe not to be believed: Fridge air" in text
    assert "Has moved by 1.3 °C against the others in the same air" in text
    assert f'href="/probe/{FRIDGE}"' in client_of(kitchen).get("/alarms").text


def test_probes_page_leads_to_each_probe_and_says_what_is_wrong() -> None:
    page, text = shown(gateway(), "/probes")
    assert page.links["Fridge air"] == f"/probe/{FRIDGE}"
    assert "Has moved by 1.3 °C" in text
