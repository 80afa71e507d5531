"""Shift hand-over: what the note says, that it stays as it was, and who may take over."""

from dataclasses import replace

import pytest

from orchestrator.core.alarms import alarm_events
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.handover import AHEAD, note_of
from orchestrator.core.handover_events import ShiftHandedOver, ShiftTakenOver
from orchestrator.core.ids import CrewId, EquipmentId, LotCode
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.state import MachineStop
from tests.core.script import in_a_planned_kitchen
from tests.display.page import Page
from tests.display.papers.pdf import words
from tests.display.papers.test_record_pdf import said_on, squeeze
from tests.display.test_desk_pages import client_of
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing, begun

COOK, OTHER = "early-cook", "counter-hand"


def troubled() -> KitchenGateway:
    """Thursday: the base is churning, the churn's belt slips, S1 is on hold, and alarms stand."""
    state = begun(base_ageing(), "B1.churn", "Thu 09:00")
    stop = MachineStop(since=at("Thu 09:05"), until=at("Thu 11:05"), reason="belt slips", by=None)
    gateway = KitchenGateway(replace(state, machines={EquipmentId("churn"): stop}), at("Thu 09:42"))
    gateway.happen(LotHeld(lot=LotCode("S1"), at=at("Thu 09:00"), reason="chilled too slowly"))
    gateway.happen(*alarm_events(gateway.state, gateway.facts, gateway.now))
    return gateway


def test_note_tells_what_was_done_is_in_hand_stands_and_comes() -> None:
    gateway = troubled()
    note = note_of(gateway.state, gateway.now, None)
    plan = gateway.state.plan
    assert plan is not None
    titles = {task.id: task.title for task in plan.tasks}
    assert [(line.what, line.thing, line.who) for line in note.in_hand] == [(titles["B1.churn"], "B1", (COOK,))]  # type: ignore[index]
    assert [(line.what, line.reason) for line in note.held] == [("S1", "chilled too slowly")]
    assert [(line.reason, line.at) for line in note.stopped] == [("belt slips", at("Thu 11:05"))]
    standing = [a for a in gateway.state.alarms.values() if a.standing]
    assert len(note.alarms) == len(standing) > 0
    assert note.until == gateway.now + AHEAD
    assert all(line.at is not None and line.at <= note.until for line in note.coming)


def test_note_reaches_back_to_the_beginning_of_the_shift_of_who_hands_over() -> None:
    gateway = KitchenGateway(base_ageing(), at("Wed 13:00"))
    kitchen = gateway.state.kitchen
    assert kitchen is not None
    begins = next(s.start for c in kitchen.crew if c.id == COOK for s in c.shifts if s.start <= gateway.now)
    note = note_of(gateway.state, gateway.now, CrewId(COOK))
    assert note.since == begins
    done = [r for r in gateway.state.tasks.values() if r.finished_at is not None and r.finished_at >= begins]
    assert len(note.done) == len(done) >= 4
    assert [line.at for line in note.done] == sorted(line.at for line in note.done if line.at)


def test_handed_over_note_stays_as_it_was_and_somebody_else_takes_over() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook", person=COOK)
    (handed,) = script.give("Wed 08:30", "hand_over", person=COOK, text=" Ice is low. ")
    assert isinstance(handed, ShiftHandedOver)
    assert handed.text == "Ice is low."
    script.give("Wed 08:45", "finish_task", task="C1.cook", person=COOK, override_reason="measured by hand")
    (one,) = script.state.handovers
    assert [line.thing for line in one.note.in_hand] == ["C1"]
    (taken,) = script.give("Wed 08:50", "take_over", person=OTHER, handover=one.number)
    assert taken == ShiftTakenOver(handover=one.number, at=at("Wed 08:50"), person=CrewId(OTHER))
    (one,) = script.state.handovers
    assert (one.taken_by, one.taken_at) == (OTHER, at("Wed 08:50"))


@pytest.mark.parametrize(
    ("kind", "what", "code"),
    [
        ("hand_over", {}, RefusalCode.NOT_ALLOWED),
        ("take_over", {"handover": 1, "person": OTHER}, RefusalCode.UNKNOWN),
        ("take_over", {"person": COOK}, RefusalCode.NOT_ALLOWED),
    ],
)
def test_hand_over_without_a_name_and_take_over_by_the_same_person_are_refused(
    kind: str, what: dict[str, object], code: RefusalCode
) -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:30", "hand_over", person=COOK)
    number = script.state.handovers[-1].number
    refusal = script.refused("Wed 08:40", kind, **({"handover": number} if kind == "take_over" else {}) | what)
    assert isinstance(refusal, Refusal)
    assert refusal.code is code


def test_hand_over_is_taken_over_once() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:30", "hand_over", person=COOK)
    number = script.state.handovers[-1].number
    script.give("Wed 08:40", "take_over", person=OTHER, handover=number)
    assert script.refused("Wed 08:41", "take_over", person="manager", handover=number).code is RefusalCode.WRONG_STATE


def test_page_hands_over_with_words_and_the_record_is_taken_over_on_its_page() -> None:
    gateway = troubled()
    cook, other = client_of(gateway, COOK), client_of(gateway, OTHER)
    page = Page(cook.get("/handover").text)
    for said in ("S1: chilled too slowly", "belt slips", "B1", "In hand", "What comes"):
        assert said in page.text
    form = next(f for f in page.forms if f.action == "/acts/hand_over")
    assert (
        cook.post("/acts/hand_over", data={**form.fields, "handover_text": "Ice is low. <b>Hurry</b>"}).status_code
        == 303
    )
    (one,) = gateway.state.handovers
    shown = other.get(f"/handover/{one.number}").text
    assert "Ice is low. &lt;b&gt;Hurry&lt;/b&gt;" in shown
    assert "Nobody has taken over yet." in Page(shown).text
    take = next(f for f in Page(shown).forms if f.action == "/acts/take_over")
    assert other.post("/acts/take_over", data=take.fields).status_code == 303
    assert "Taken over by Counter hand" in Page(other.get(f"/handover/{one.number}").text).text
    assert other.get("/handover/99").status_code == 404


def test_note_as_pdf_says_every_word_of_the_page() -> None:
    gateway = troubled()
    client = client_of(gateway, COOK)
    client.post("/acts/hand_over", data={"handover_text": "Ice is low."})
    number = gateway.state.handovers[0].number
    for path in ("/handover", f"/handover/{number}"):
        pdf = client.get(f"/handover/{number}.pdf" if path != "/handover" else "/handover/now.pdf")
        told = squeeze(words(pdf.data))
        html = client.get(path).text.partition('<section class="not-printed">')[0] + "</main>"
        assert [piece for piece in said_on(html) if piece not in told] == []
