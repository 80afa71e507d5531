"""The batch record as PDF: page and paper say the same, on both papers, curves included."""

import re
from datetime import timedelta

import pytest

from display.papers.flow import page_pdf
from display.papers.tree import Node, main_of
from orchestrator.core.events import ActUndone, GateEvidence, TaskFinished, TaskStarted
from orchestrator.core.ids import EquipmentId
from tests.display.papers.pdf import pictures, sizes_mm, words
from tests.display.test_batch_record import CHURN, COOK, churning, enter
from tests.display.test_desk_pages import client_of
from tests.fakes.kitchen_gateway import FakePractice, KitchenGateway
from tests.fakes.kitchens import at


def said_on(html: str) -> list[str]:
    """What the page says in print, piece by piece."""
    found: list[str] = []

    def walk(node: Node) -> None:
        if node.tag in {"form", "button", "svg", "summary"} or node.classes & {"crumb-line", "who-hint", "not-printed"}:
            return
        for child in node.children:
            if isinstance(child, str):
                found.append(child)
            else:
                walk(child)

    walk(main_of(html))
    return [squeezed for piece in found if (squeezed := squeeze(piece))]


def squeeze(text: str) -> str:
    """Without spaces, which move where lines break, and without hyphens for the same reason."""
    return re.sub(r"[\s\u00a0\ufffe\u0002-]", "", text)


def full() -> KitchenGateway:
    """A record with gates, an override, an act taken back, one entered late, and curves."""
    gateway = churning()
    gate = GateEvidence(says="Base at most 4 °C", met=False, celsius=4.6, measured_at=at("Wed 13:50"))
    start = TaskStarted(
        task=CHURN,
        at=at("Wed 14:00"),
        person=COOK,
        equipment=EquipmentId("churn"),
        gates=(gate,),
        override_reason="ice",
    )
    enter(gateway, start, "Wed 14:01")
    act = enter(gateway, TaskFinished(task=CHURN, at=at("Wed 14:20"), person=COOK), "Wed 14:50")
    enter(gateway, ActUndone(act=act, at=at("Wed 14:52"), person=COOK), "Wed 14:52")
    return gateway


@pytest.mark.parametrize(("paper", "size"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
@pytest.mark.parametrize("lot", ["B1", "C1", "S1"])
def test_record_as_pdf_says_every_word_of_the_page(lot: str, paper: str, size: tuple[float, float]) -> None:
    client = client_of(full())
    answer = client.get(f"/record/{lot}/record.pdf?paper={paper}")
    assert answer.status_code == 200
    assert set(sizes_mm(answer.data)) == {size}
    told = squeeze(words(answer.data))
    said = said_on(client.get(f"/record/{lot}").text)
    assert len(said) > 20
    assert [piece for piece in said if piece not in told] == []


def test_curves_are_drawn_in_the_pdf() -> None:
    """More ink than the same record without its curves."""
    with_curves = client_of(churning()).get("/record/C1").text
    without = re.sub(r"<polyline[^>]*>", "", with_curves)
    assert with_curves != without
    ink = [
        sum(p < 128 for p in pictures(page_pdf(h, "A4", "r", "f"), 100)[0].tobytes()) for h in (with_curves, without)
    ]
    assert ink[0] > ink[1] + 50


def test_pdf_of_a_demo_says_practice_on_every_page_and_counts_them() -> None:
    gateway = churning()
    gateway._practice = FakePractice()
    answer = client_of(gateway).get("/record/B1/record.pdf")
    text = words(answer.data)
    pages = len(sizes_mm(answer.data))
    assert text.count("PRACTICE: invented kitchen") >= pages
    assert f"{pages} / {pages}" in text


def test_long_record_is_split_over_pages_and_none_is_lost() -> None:
    gateway = churning()
    for number in range(200):
        when = gateway.now - timedelta(minutes=200 - number)
        event = TaskStarted(task=CHURN, at=when, person=COOK, equipment=None, override_reason=f"reason number {number}")
        enter(gateway, event, "Wed 15:00")
    answer = client_of(gateway).get("/record/B1/record.pdf")
    assert len(sizes_mm(answer.data)) > 3
    text = squeeze(words(answer.data))
    assert [n for n in range(200) if f"reasonnumber{n}" not in text] == []


def test_unknown_lot_has_no_pdf() -> None:
    assert client_of(churning()).get("/record/X9/record.pdf").status_code == 404
