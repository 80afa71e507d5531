"""The page of who is called, the line before the last leave, and the message itself."""

from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.calling import message_of
from display.views import CoreViews
from orchestrator.core.call_events import CallDelivered, CallFailed, CallGaveUp
from orchestrator.core.calls import due_calls
from orchestrator.core.events import AlarmReturned
from orchestrator.core.models.calls import CallFault, CallPlan, CallStatus, ChannelFault
from tests.display.page import Page
from tests.fakes.call_states import FREEZER, calling_kitchen, tried, warm_freezer, without_address
from tests.fakes.kitchen_gateway import FakePractice, KitchenGateway
from tests.fakes.kitchens import at

REFUSED = ChannelFault(channel="Phone", fault=CallFault.REFUSED, code=503)


def client_of(kitchen: KitchenGateway, person: str = "manager") -> FlaskClient:
    client = create_app(kitchen, CoreViews()).web.test_client()
    client.set_cookie("person", person)
    return client


def page_of(kitchen: KitchenGateway, path: str = "/calls", person: str = "manager") -> Page:
    answer = client_of(kitchen, person).get(path)
    assert answer.status_code == 200
    page = Page(answer.text)
    page.text = page.text.replace("\u00a0", " ")
    assert page.inline_styles == page.inline_scripts == []
    return page


def joined(text: str) -> str:
    """Cells of a table stand without a space between them."""
    return text.replace(" ", "")


def called(kitchen: KitchenGateway) -> int:
    """The freezer's alarm calls whoever is next."""
    kitchen.happen(*due_calls(kitchen.state, kitchen.now))
    return kitchen.state.seq


def test_page_shows_the_list_with_what_is_known_of_each_channel() -> None:
    kitchen = calling_kitchen(at("Wed 20:30"))
    tried(kitchen, "manager")
    tried(kitchen, "role:Owner", CallFault.REFUSED, 401)
    without_address(kitchen, "CALL_LATE_COOK")
    page = page_of(kitchen)
    assert "1. Manager Phone: Reaches last reached 20:30 Quiet 22:00–06:00: then only what is critical." in page.text
    assert "Test 20:30: reached by Phone 20:30" in page.text
    assert "2. Owner Phone: Does not reach 20:30: was refused (401); never reached anybody No quiet hours." in page.text
    assert "3. Late cook Phone: Not set no address stands under CALL_LATE_COOK" in page.text
    assert "About: critical, warning. While somebody is on shift, after 5 min unseen" in page.text
    assert [form.fields["callee"] for form in page.forms if form.action == "/acts/test_call"] == [
        "manager",
        "role:Owner",
        "late-cook",
    ]


def test_name_of_an_address_that_is_set_is_nobodys_business() -> None:
    assert "CALL_" not in client_of(calling_kitchen(at("Wed 20:30"))).get("/calls").text


def test_manager_sends_a_test_call_by_the_form_and_sees_it_on_its_way() -> None:
    kitchen = calling_kitchen(at("Wed 20:30"))
    form = {"callee": "role:Owner", "command_id": "c1", "back": "/calls"}
    answer = client_of(kitchen).post("/acts/test_call", data=form, follow_redirects=True)
    assert "A test call is on its way; its result is told on the page of who is called." in answer.text
    (call,) = kitchen.state.calls.on_their_way()
    assert (call.to, call.person) == ("role:Owner", "manager")
    page = page_of(kitchen)
    assert len([form for form in page.forms if form.action == "/acts/test_call"]) == 2
    assert "Test 20:30: on its way" in page.text


def test_cook_may_not_send_a_test_call_and_is_told_who_may() -> None:
    kitchen = calling_kitchen(at("Wed 20:30"))
    client = client_of(kitchen, "early-cook")
    answer = client.post("/acts/test_call", data={"callee": "manager"}, headers={"Accept": "application/json"})
    assert answer.status_code == 409
    assert "manager" in answer.json["remedy"]
    assert kitchen.state.calls.calls == ()


NOBODY = "Nobody would be called tonight: nobody is on the list."
STANDS = "Meanwhile Fridge: C1, S1 (10 L)."


@pytest.mark.parametrize("path", ["/station/stove", "/board", "/alarms", "/calls", "/person"])
def test_before_the_last_leave_the_screens_say_that_nobody_would_be_called(path: str) -> None:
    page = page_of(calling_kitchen(at("Wed 20:00"), CallPlan()), path)
    assert f"{NOBODY} {STANDS} Nobody is here 21:00 to Thu 06:00." in page.text


def test_station_is_silent_about_it_by_day_and_when_somebody_would_be_reached() -> None:
    assert NOBODY not in page_of(calling_kitchen(at("Wed 19:59"), CallPlan()), "/station/stove").text
    kitchen = calling_kitchen(at("Wed 20:30"))
    tried(kitchen, "role:Owner")
    assert "tonight" not in page_of(kitchen, "/station/stove").text
    said = page_of(kitchen, "/alarms").text
    assert "Called tonight: Owner. Nobody is here 21:00 to Thu 06:00." in said


def test_channels_that_nobody_tested_are_no_promise() -> None:
    said = page_of(calling_kitchen(at("Wed 22:30")), "/station/stove").text
    assert "Nobody knows whether a call would arrive tonight: no channel has been tested." in said
    assert "Nobody is on shift until Thu 06:00." in said


def test_when_nothing_but_what_is_critical_calls_is_said() -> None:
    kitchen = calling_kitchen(at("Wed 22:30"))
    tried(kitchen, "manager")
    assert "Until Thu 06:00 only what is critical calls; the rest comes together then." in page_of(kitchen).text


def test_call_that_reached_nobody_is_said_on_the_station_with_the_reason() -> None:
    kitchen = calling_kitchen(at("Thu 02:00"))
    tried(kitchen, "role:Owner")
    warm_freezer(kitchen)
    seq = called(kitchen)
    kitchen.happen(CallFailed(call=seq, at=kitchen.now, faults=(REFUSED,)))
    assert "on its way, tried 1 times in vain: Phone was refused (503)" in page_of(kitchen).text
    kitchen.happen(CallGaveUp(call=seq, at=kitchen.now, faults=(REFUSED,)))
    assert "Could not reach Manager: Phone was refused (503)." in page_of(kitchen, "/station/stove").text
    page = page_of(kitchen)
    assert joined("02:00 Manager Freezer first could not reach: Phone was refused (503)") in joined(page.text)
    assert joined("Freezer too warm: −9.0 °C Owner, 02:00") in joined(page.text)


def test_log_tells_who_was_told_when_and_what_was_not_needed() -> None:
    kitchen = calling_kitchen(at("Thu 02:00"))
    warm_freezer(kitchen)
    first = called(kitchen)
    kitchen.happen(CallDelivered(call=first, at=kitchen.now, reached=("Phone",), faults=(REFUSED,)))
    kitchen.now += timedelta(minutes=10)
    second = called(kitchen)
    over = ChannelFault(channel="", fault=CallFault.OVER)
    kitchen.happen(AlarmReturned(alarm=FREEZER, at=kitchen.now))
    kitchen.happen(CallGaveUp(call=second, at=kitchen.now, faults=(over,)))
    text = joined(page_of(kitchen).text)
    assert joined("02:10 Owner Freezer next in turn not needed any more") in text
    assert joined("02:00 Manager Freezer first reached by Phone 02:00; not by Phone was refused (503)") in text
    assert joined("No alarm calls anybody.") in text


def test_in_practice_it_says_that_nothing_is_sent() -> None:
    made = calling_kitchen(at("Wed 22:30"))
    kitchen = KitchenGateway(made.state, made.now, practice=FakePractice())
    tried(kitchen, "role:Owner", CallFault.PRACTICE)
    text = page_of(kitchen).text
    assert "PRACTICE: nobody is really called, nothing is sent." in text
    assert "not sent: PRACTICE" in text


def test_message_tells_all_that_is_known_without_a_screen() -> None:
    kitchen = calling_kitchen(at("Thu 02:00"))
    warm_freezer(kitchen)
    kitchen.happen(CallDelivered(call=called(kitchen), at=kitchen.now, reached=("Phone",)))
    kitchen.now += timedelta(minutes=10)
    called(kitchen)
    (call,) = kitchen.state.calls.on_their_way()
    title, body = message_of(kitchen, call)
    assert title == "Small kitchen: Freezer too warm: −9.0 °C"
    lines = body.splitlines()
    assert lines[0] == "Freezer too warm: −9.0 °C (Critical)"
    assert "Temperature: −9.0 °C when last told, limit −15 °C" in lines
    assert lines[-4:] == [
        "Whoever was called before has not marked it as seen.",
        "Called before: Manager 02:00",
        "It ends when somebody marks it as seen on a screen in the kitchen. This message cannot be answered.",
        "Local codes and licensed practice decide about food.",
    ]


def test_message_of_a_flood_tells_three_whole_and_of_the_rest_the_heads() -> None:
    kitchen = calling_kitchen(at("Thu 02:00"))
    for number in range(1, 6):
        warm_freezer(kitchen, f"Freezer {number}")
    called(kitchen)
    (call,) = kitchen.state.calls.on_their_way()
    title, body = message_of(kitchen, call)
    assert title == "Small kitchen: 5 alarms, Freezer 1 too warm: −9.0 °C"
    assert body.count("Temperature: −9.0 °C when last told") == 3
    assert "And 2 more: Freezer 4 too warm: −9.0 °C; Freezer 5 too warm: −9.0 °C" in body.splitlines()


def test_message_of_a_test_says_that_nothing_is_wrong() -> None:
    kitchen = calling_kitchen(at("Thu 02:00"))
    client_of(kitchen).post("/acts/test_call", data={"callee": "role:Owner"})
    (call,) = kitchen.state.calls.on_their_way()
    assert message_of(kitchen, call) == (
        "Test call from Small kitchen",
        "Manager tests whether this reaches Owner. Nothing is wrong, and nothing is to be done.",
    )


def test_message_in_practice_says_so_first() -> None:
    made = calling_kitchen(at("Thu 02:00"))
    kitchen = KitchenGateway(made.state, made.now, practice=FakePractice())
    warm_freezer(kitchen)
    called(kitchen)
    (call,) = kitchen.state.calls.on_their_way()
    assert all(part.startswith("PRACTICE. ") for part in message_of(kitchen, call))


def test_interface_tells_the_same() -> None:
    kitchen = calling_kitchen(at("Wed 20:30"))
    tried(kitchen, "role:Owner")
    told = client_of(kitchen).get("/api/v1/calls").json
    assert told["tonight"]["reached"] == ["role:Owner"]
    assert [call["status"] for call in told["calls"]] == [CallStatus.DELIVERED]
