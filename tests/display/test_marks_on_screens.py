"""Date marks and time since cleaning as the screens tell them, and a reading by hand as the record shows it."""

from datetime import timedelta

import pytest

from tests.core.script import Script
from tests.core.stock_script import at_the_door
from tests.core.test_by_hand import _limited
from tests.core.test_cleaned import _churning
from tests.core.test_day_marks import _aged
from tests.display.test_desk_pages import client_of, page_of, text_of
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at


def _door(script: Script, when: str) -> KitchenGateway:
    gateway = KitchenGateway(script.state, at(when), facts=script.facts)
    gateway.records = list(script.log)
    return gateway


def test_lots_and_record_tell_the_day_the_last_day_and_the_text_that_applied() -> None:
    gateway = _door(_aged(), "Thu 08:00")
    assert "day 2 of 7, use by the end of Tue 1 Dec" in text_of(page_of(gateway, "/lots"))
    record = text_of(page_of(gateway, "/record/C1"))
    assert "Wed 25 Nov is day 1, while kept cold; Use within seven days, FDA Food Code 2022, 3-501.17, 2022" in record


def test_lot_past_its_days_is_told_as_such_with_its_deviation() -> None:
    script = _aged(days=1)
    script.give("Thu 00:00", "tick")
    text = text_of(page_of(_door(script, "Thu 08:00"), "/lots"))
    assert "past its days: day 2 of 1" in text
    assert "Town of Example, Ordinance 12" in text
    assert "DEV-1" in text


def test_machines_page_tells_since_when_one_is_in_use_and_when_it_is_over() -> None:
    script = _churning(360)
    assert "In use since 09:00; to be cleaned by 15:00" in text_of(page_of(_door(script, "Thu 10:00"), "/machines"))
    late = text_of(page_of(_door(script, "Thu 15:01"), "/machines"))
    assert "Was to be cleaned by 15:00: in use since 09:00" in late
    assert "the machine's own interval" in late


def test_reading_by_hand_is_a_mark_in_the_record_with_who_took_it() -> None:
    script = _limited("two-leg-cooling")
    began = script.of("C1.chill").started_at
    assert began is not None
    script.give(began + timedelta(minutes=30), "enter_temperature", task="C1.chill", celsius=50, person="early-cook")
    gateway = _door(script, "Wed 09:30")
    page = client_of(gateway).get("/record/C1").text
    assert page.count('class="by-hand"') == 2  # in the curve and beside the words
    assert "50.0 °C by hand at Wed 25 Nov 09:15, Early cook" in text_of(page_of(gateway, "/record/C1"))


def test_mistaken_unit_is_asked_about_with_an_answer_for_each_unit() -> None:
    script = _limited("two-leg-cooling")
    gateway = _door(script, "Wed 09:00")
    client = client_of(gateway)
    typed = {"task": "C1.chill", "temperature": "41", "back": "/task/C1.chill"}
    answer = client.post("/acts/temperature", data=typed, headers={"Accept": "application/json"})
    told = answer.get_json()
    assert (answer.status_code, told["says"].replace("\u00a0", " ")) == (
        409,
        "Is that so? 41 °C does not fit; read in °F it would be 5 °C.",
    )
    assert [(ask["label"].replace("\u00a0", " "), ask["fields"]["temperature"]) for ask in told["asks"]] == [
        ("It says 41 °F: 5.0 °C", "5.0"),
        ("It is 41 °C", "41"),
    ]
    sent = client.post("/acts/temperature", data=told["asks"][0]["fields"], headers={"Accept": "application/json"})
    assert sent.status_code == 200
    entered = [c for record in gateway.snapshot().state.tasks.values() for _, c in record.hand_readings]
    assert entered == [5.0]


@pytest.mark.parametrize(
    ("typed", "labels", "sent"),
    [
        ({"quantity": "4000", "expected": "4"}, ["It says 4000 mL: 4 L", "It is 4000 L"], "4"),
        ({"quantity": "4000", "expected": "4", "typed_in": "us"}, ["It is 3.8 L", "It is 4000 qt"], "3.785 L"),
    ],
)
def test_amount_of_a_delivery_far_above_what_was_ordered_is_asked_about_with_answers(
    typed: dict[str, str], labels: list[str], sent: str
) -> None:
    gateway = _door(at_the_door(), "Wed 07:40")
    client = client_of(gateway, "early-cook")
    told = {"ingredient": "whole milk", "unit": "L", "outcome": "accepted", "keep": "cold", "temperature": "3", **typed}
    answer = client.post("/acts/receive", data=told, headers={"Accept": "application/json"})
    asked = answer.get_json()
    assert answer.status_code == 409
    assert "does not fit" in asked["says"]
    assert "were ordered" in asked["says"]
    assert [ask["label"].replace("\u00a0", " ") for ask in asked["asks"]] == labels
    meant = asked["asks"][0]["fields"]
    assert (meant["quantity"], meant["sure_of_amount"], "sure" in meant) == (sent, "yes", False)
    answer = client.post("/acts/receive", data=meant, headers={"Accept": "application/json"})
    assert answer.status_code == 200
    delivery = gateway.snapshot().state.pantry.deliveries[-1]
    assert delivery.quantity is not None
    assert delivery.quantity.value == float(sent.split(maxsplit=1)[0])


def test_question_stands_on_the_next_page_without_a_script() -> None:
    client = client_of(_door(_limited("two-leg-cooling"), "Wed 09:00"))
    typed = {"task": "C1.chill", "temperature": "41", "back": "/task/C1.chill"}
    page = client.post("/acts/temperature", data=typed, follow_redirects=True).text
    assert page.count('class="answer"') == 2
    assert "It says 41 °F: 5.0 °C" in page.replace("\u00a0", " ")
