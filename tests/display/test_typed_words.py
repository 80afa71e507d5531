"""What people typed is read on every page as they typed it: not half in Spanish, in other units, on another clock.

Each text is a trap: it holds what the teller knows in sentences of its own (lists, weekday, time, amount, degrees).
"""

from collections.abc import Iterator

import pytest
from flask.testing import FlaskClient

from display.formats import Formats
from display.telling import Teller
from display.typed_words import unveiled, veiled
from display.words import Words
from tests.core.doubt_script import COUNTER, EARLY, MANAGER, churned, cold_again, warm
from tests.core.script import Script, in_a_planned_kitchen
from tests.core.stock_script import at_the_door, churned_and_tempered
from tests.display.papers.pdf import words as pdf_words
from tests.display.papers.test_record_pdf import squeeze
from tests.display.test_desk_pages import client_of
from tests.display.test_spanish_tour import Read, pages, speaking
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at


def trap(name: str) -> str:
    return f"zz{name}: too cold, and late on Mon at 14:30; the lid, 2.5 kg at 7.5 °C or the fridge"


def begun() -> Script:
    """Words on a start, a problem that puts on hold, a machine stopped now and one later, a shift's end."""
    script = in_a_planned_kitchen(temperature_unit="F")
    script.give("Wed 08:00", "start_task", task="C1.cook", person=EARLY, override_reason=trap("start"))
    told = {"task": "C1.cook", "what": "quality", "text": trap("problem"), "hold_lot": True}
    script.give("Wed 08:05", "report_problem", person=EARLY, **told)
    script.give("Wed 08:06", "report_problem", person=EARLY, **{**told, "what": "machine", "text": trap("second")})
    script.give("Wed 08:10", "stop_machine", equipment="churn", reason=trap("stop"), person=EARLY)
    stop = {"change": "machine stopped", "equipment": "freezer", "start": at("Thu 08:00"), "end": at("Thu 09:00")}
    script.give("Wed 08:12", "change_kitchen", changes=[stop], reason=trap("later"), person=EARLY)
    script.give("Wed 08:15", "hand_over", text=trap("note"), person=EARLY)
    script.give("Wed 08:20", "look_through", lot="C1", note=trap("look"), person=MANAGER)
    quiet = next(alarm for alarm, known in script.state.alarms.items() if known.facts.kind == "machine_stopped")
    script.give("Wed 08:21", "shelve_alarm", alarm=quiet, minutes=30, reason=trap("shelf"), person=MANAGER)
    return script


def decided() -> Script:
    """Words on food in a freezer that failed, on the decision, on what was done about it."""
    script = churned(in_a_planned_kitchen(temperature_unit="F"))
    warm(script, "Thu 14:00")
    script.give("Thu 14:20", "tick")
    held = {"lot": "B1", "equipment": "freezer", "answer": "on hold", "person": EARLY, "reason": trap("apart")}
    script.give("Thu 14:25", "answer_lot", **held)
    (deviation,) = script.state.deviations
    action = {"deviation": deviation, "act": "second look", "text": trap("look"), "lot": "B1"}
    script.give("Thu 14:30", "take_action", person=COUNTER, **action)
    return script


def released() -> Script:
    script = decided()
    words = {"reason": trap("why"), "by_code": trap("code")}
    script.give("Thu 14:40", "decide_lot", lot="B1", decision="release", person=MANAGER, **words)
    (deviation,) = script.state.deviations
    action = {"deviation": deviation, "act": "machine seen to", "text": trap("did")}
    script.give("Thu 14:42", "take_action", person=MANAGER, **action)
    cold_again(script, "Thu 14:00", "Thu 14:45")
    script.give("Thu 14:45", "tick")
    script.give("Thu 14:46", "close_deviation", deviation=deviation, note=trap("close"), person=MANAGER)
    return script


def received() -> Script:
    script = at_the_door()
    milk = {"ingredient": "whole milk", "outcome": "refused", "celsius": 9.0, "keep": "cold", "reason": trap("van")}
    script.give("Wed 07:40", "receive_delivery", person=EARLY, **milk)
    swap = {"ingredient": "whole milk", "by": "goat milk", "allergens": ["milk"], "reason": trap("swap")}
    script.give("Wed 07:45", "replace_ingredient", person=MANAGER, **swap)
    return script


def counted() -> Script:
    script = churned_and_tempered()
    script.give("Sat 11:00", "count_stock", person=EARLY, lot="B1", counted="1 L", reason=trap("count"))
    return script


def client_of_story(script: Script, language: str) -> FlaskClient:
    gateway = KitchenGateway(script.state, script.now, facts=script.facts)
    gateway.records = list(script.log)
    client = client_of(speaking(gateway) if language == "es" else gateway, "manager")
    for name, value in (("language", language), ("clock", "12"), ("amounts", "us")):
        client.set_cookie(name, value)
    return client


STORIES = {
    begun: ("start", "problem", "second", "stop", "later", "note", "look", "shelf"),
    decided: ("apart", "look"),
    released: ("why", "code", "did", "close"),
    received: ("van", "swap"),
    counted: ("count",),
}


@pytest.mark.parametrize("language", ["es", "en"])
@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.__name__)
def test_typed_words_are_read_as_they_were_typed_on_every_page(story: object, language: str) -> None:
    seen = dict.fromkeys(STORIES[story], 0)  # type: ignore[index]
    spoilt = []
    for address, text in _texts(client_of_story(story(), language)):  # type: ignore[operator]
        for name in seen:
            shown = text.count(f"zz{name}:")
            seen[name] += text.count(trap(name))
            if shown != text.count(trap(name)):
                spoilt.append((address, text))
    assert spoilt == []
    assert [name for name, count in seen.items() if not count] == [], "shown nowhere: the test proves nothing of it"


def _texts(client: FlaskClient) -> Iterator[tuple[str, str]]:
    lot = client.get("/trace/B1")  # of a kind of which only two are looked at
    more = [("/trace/B1", Read(lot.text))] if lot.status_code == 200 else []
    for address, page in (*pages(client), *more):
        for text in page.texts:
            if "zz" in text:
                yield address, text


@pytest.mark.parametrize("language", ["es", "en"])
def test_typed_words_are_printed_as_they_were_typed(language: str) -> None:
    client = client_of_story(begun(), language)
    record = squeeze(pdf_words(client.get("/record/C1/record.pdf").data))
    for name in ("start", "problem", "second", "look"):
        assert squeeze(trap(name)) in record
    (note,) = (one.number for one in begun().state.handovers)
    handed = squeeze(pdf_words(client.get(f"/handover/{note}.pdf").data))
    assert squeeze(trap("note")) in handed
    assert squeeze(trap("stop")) in handed


def teller() -> Teller:
    words = Words("es")
    return Teller("es", Formats("UTC", "F", words, twelve_hours=True, us=True), "F", {}, twelve=True)


TEXT = trap("x")


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (f"quality: {TEXT}", f"calidad: {TEXT}"),
        (f"Freezer stopped: {TEXT}", f"Freezer parada: {TEXT}"),
        ("Freezer stopped: power cut", "Freezer parada: corte de luz"),
        (f"put on hold: {TEXT}", f"retenido: {TEXT}"),
        (
            f"made from C1, which is on hold: made from S1, which is on hold: other: {TEXT}",
            f"hecho de C1, que está retenido: hecho de S1, que está retenido: otra cosa: {TEXT}",
        ),
        (
            f"quality: {TEXT}; critical step left out: Cook; machine: {TEXT}",
            f"calidad: {TEXT}; paso crítico omitido: Cook; máquina: {TEXT}",
        ),
        (f"lot C1 is discarded: {TEXT}", f"el lote C1 está desechado: {TEXT}"),
        (f"lot C1 is on hold: temperature: {TEXT}", f"el lote C1 está retenido: temperatura: {TEXT}"),
    ],
)
def test_frame_is_told_and_what_was_typed_in_it_stays(said: str, told: str) -> None:
    assert teller()(said) == told


def test_what_is_told_is_never_told_again() -> None:
    tell = teller()
    words = Words("es", tell)
    assert words("held_why", reason=tell(f"quality: {TEXT}")).count(TEXT) == 1


@pytest.mark.parametrize("text", ["quality: ¿qué? — 7 °C, 😀 and …", "other: \n two lines; on hold: "])
def test_whatever_was_typed_comes_back(text: str) -> None:
    assert veiled(text) != [text]
    assert unveiled("; ".join(veiled(text))) == text
