"""Who is there, away today in two taps, there as well; machines that will stop later: each by way of its preview."""

from dataclasses import replace
from urllib.parse import parse_qs, urlsplit

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.changing import unpacked
from display.views import CoreViews
from orchestrator.core.models import Shift
from orchestrator.core.models.change import Change, MachineBack, MachineStopped
from orchestrator.core.models.change_crew import Absent, ExtraShift
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing


@pytest.fixture
def gateway() -> KitchenGateway:
    return KitchenGateway(base_ageing(), at("Thu 07:10"))


@pytest.fixture
def client(gateway: KitchenGateway) -> FlaskClient:
    made = create_app(gateway, CoreViews()).web.test_client()
    made.set_cookie("person", "early-cook")
    return made


def only_change(location: str) -> Change:
    (change,) = unpacked(parse_qs(urlsplit(location).query)["c"][0])
    return change


def carried_out(client: FlaskClient, location: str) -> None:
    client.post("/changes", data=Page(client.get(location).text).form("/changes").fields)


def test_somebody_is_away_today_by_two_taps_of_a_cook(client: FlaskClient, gateway: KitchenGateway) -> None:
    page = Page(client.get("/crew").text)
    today = [form for form in page.forms if form.buttons == ["Away today"]]
    late = next(form for form in today if form.fields["crew"] == "late-cook")
    answer = client.post(late.action, data=late.fields)
    assert only_change(answer.headers["Location"]) == Absent(
        crew="late-cook", start=at("Thu 13:00"), end=at("Thu 21:00")  # type: ignore[arg-type]
    )  # fmt: skip
    carried_out(client, answer.headers["Location"])
    assert gateway.state.kitchen is not None
    cook = next(member for member in gateway.state.kitchen.crew if member.id == "late-cook")
    assert at("Thu 13:00") not in {shift.start for shift in cook.shifts}
    assert at("Fri 13:00") in {shift.start for shift in cook.shifts}
    left = [form for form in Page(client.get("/crew").text).forms if form.buttons == ["Away today"]]
    assert "late-cook" not in {form.fields["crew"] for form in left}


def test_who_is_in_a_shift_is_away_from_now_on(client: FlaskClient) -> None:
    forms = [form for form in Page(client.get("/crew").text).forms if form.buttons == ["Away today"]]
    early = next(form for form in forms if form.fields["crew"] == "early-cook")
    assert (early.fields["from"], early.fields["until"]) == ("2026-11-26T07:10", "2026-11-26T14:00")


def test_extra_shift_waits_for_a_manager(client: FlaskClient, gateway: KitchenGateway) -> None:
    sent = {"crew": "counter-hand", "from": "2026-11-27T09:00", "until": "2026-11-27T12:00"}
    answer = client.post("/crew/extra", data=sent)
    assert isinstance(only_change(answer.headers["Location"]), ExtraShift)
    form = Page(client.get(answer.headers["Location"]).text).form("/changes")
    assert form.fields["person"] == "manager"
    carried_out(client, answer.headers["Location"])
    assert gateway.state.by_hand.entries[-1].person == "manager"


@pytest.mark.parametrize(
    ("typed", "name", "says"),
    [
        ({"crew": ""}, "crew", "Pick who it is."),
        ({"from": ""}, "from", "From is missing."),
        ({"until": "noon"}, "until", "is not a date and time"),
        ({"until": "2026-11-26T08:00"}, "until", "It would end before it begins"),
        ({"from": "2026-11-25T05:00", "until": "2026-11-25T06:00"}, "until", "That is over"),
    ],
)
def test_fault_of_a_span_stands_beside_its_field(
    client: FlaskClient, typed: dict[str, str], name: str, says: str
) -> None:
    sent = {"crew": "late-cook", "from": "2026-11-26T14:00", "until": "2026-11-26T16:00", **typed}
    answer = client.post("/crew/away", data=sent)
    page = Page(answer.text)
    assert answer.status_code == 422
    assert f"away-fault-{name}" in page.ids
    assert says in page.text
    form = next(f for f in page.forms if f.action == "/crew/away" and f.buttons == ["Show what it would come to"])
    assert form.fields["from"] == sent["from"]


def test_absence_of_a_single_day_takes_one_date(client: FlaskClient) -> None:
    page = Page(client.get("/crew").text)
    form = next(f for f in page.forms if f.action == "/crew/away" and f.buttons == ["Show what it would come to"])
    assert "Until (empty: all that day)" in page.text
    answer = client.post("/crew/away", data={**form.fields, "crew": "late-cook", "from": "2026-11-27T00:00"})
    assert only_change(answer.headers["Location"]) == Absent(
        crew="late-cook", start=at("Fri 00:00"), end=at("Sat 00:00")  # type: ignore[arg-type]
    )  # fmt: skip


def test_absence_of_a_day_lasts_as_long_as_a_shift_that_begins_on_it(gateway: KitchenGateway) -> None:
    kitchen = gateway.state.kitchen
    assert kitchen is not None
    night = Shift(start=at("Fri 20:00"), end=at("Sat 02:00"))
    crew = tuple(m.model_copy(update={"shifts": (night,)}) if m.id == "late-cook" else m for m in kitchen.crew)
    gateway.state = replace(gateway.state, kitchen=kitchen.model_copy(update={"crew": crew}))
    client = create_app(gateway, CoreViews()).web.test_client()
    answer = client.post("/crew/away", data={"crew": "late-cook", "from": "2026-11-27T08:00", "until": ""})
    told = only_change(answer.headers["Location"])
    assert isinstance(told, Absent)
    assert told.end == at("Sat 02:00")


def test_absence_on_a_day_without_a_shift_is_refused(client: FlaskClient) -> None:
    answer = client.post("/crew/away", data={"crew": "counter-hand", "from": "2026-11-27T08:00", "until": ""})
    assert (answer.status_code, "has no shift then" in answer.text) == (422, True)


def test_extra_shift_and_stop_of_a_machine_still_want_their_end(client: FlaskClient) -> None:
    sent = {"crew": "counter-hand", "from": "2026-11-27T09:00", "until": ""}
    assert "Until is missing." in Page(client.post("/crew/extra", data=sent).text).text
    assert "Until is missing." in Page(client.post("/machines/churn/later", data=sent).text).text


def test_absence_without_a_shift_is_refused_with_what_was_typed_kept(client: FlaskClient) -> None:
    sent = {"crew": "late-cook", "from": "2026-11-26T02:00", "until": "2026-11-26T03:00"}
    sent |= {"from": "2026-11-26T22:00", "until": "2026-11-26T23:00"}
    answer = client.post("/crew/away", data=sent)
    assert (answer.status_code, "has no shift then" in answer.text) == (422, True)
    assert client.post("/crew/sideways", data=sent).status_code == 404


def test_machine_is_told_to_stop_later_shown_and_taken_back(client: FlaskClient, gateway: KitchenGateway) -> None:
    assert Page(client.get("/machines").text).links["Stop it later"].endswith("/later")
    wrong = client.post("/machines/churn/later", data={"from": "2026-11-27T12:00", "until": "2026-11-27T10:00"})
    assert (wrong.status_code, "It would end before it begins" in wrong.text) == (422, True)
    answer = client.post("/machines/churn/later", data={"from": "2026-11-27T10:00", "until": "2026-11-27T12:00"})
    assert only_change(answer.headers["Location"]) == MachineStopped(
        equipment="churn", start=at("Fri 10:00"), end=at("Fri 12:00")  # type: ignore[arg-type]
    )  # fmt: skip
    carried_out(client, answer.headers["Location"])
    assert "Will be stopped Fri 10:00 to Fri 12:00" in Page(client.get("/machines").text).text
    row = next(r for r in CoreViews().board(gateway.snapshot()).rows if r.equipment == "churn")
    assert [(b.start, b.end) for b in row.blocks if b.status == "stopped"] == [(at("Fri 10:00"), at("Fri 12:00"))]
    back = client.post("/machines/churn/not-later")
    assert isinstance(only_change(back.headers["Location"]), MachineBack)
    carried_out(client, back.headers["Location"])
    assert gateway.state.by_hand.stops == ()
    assert client.get("/machines/none/later").status_code == 404
