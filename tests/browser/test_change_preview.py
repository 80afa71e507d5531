"""A change shown before it is carried out: what it comes to appears while somebody types why."""

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from display.changing import address
from orchestrator.core.models.change_crew import Absent
from orchestrator.core.models.questions import Answer, Question
from orchestrator.ports.planning import OnBetter
from tests.browser.conftest import Open
from tests.display.test_helping import SlowGateway, tried
from tests.fakes.kitchens import at

pytestmark = pytest.mark.browser


class PatientGateway(SlowGateway):
    """Its planner is not given up after the ten seconds that pages without a browser need."""

    def ask(self, question: Question, timeout_s: float = 60.0, on_better: OnBetter | None = None) -> Answer | object:  # type: ignore[override]
        """When it is let."""
        self.let.wait(120)
        return super().ask(question, timeout_s, on_better)


def test_reason_that_is_being_typed_stays_while_the_planner_answers(
    open_over: Callable[[PatientGateway], Open],
) -> None:
    gateway = PatientGateway()
    gateway.answers["what_if"] = tried(gateway)
    away = Absent(crew="early-cook", start=at("Fri 06:00"), end=at("Fri 12:00"))
    page = open_over(gateway)(f"/changes?c={address((away,))['c']}")
    expect(page.get_by_text("What it comes to appears here by itself.")).to_be_visible()
    why = page.get_by_label("Why (may be left empty)")
    why.click()
    page.keyboard.type("called in si")
    page.wait_for_timeout(4500)  # longer than it takes to look again
    page.keyboard.type("ck")
    gateway.let.set()
    expect(page.get_by_role("heading", name="Orders", exact=True)).to_be_visible(timeout=60_000)
    expect(why).to_have_value("called in sick")
    assert page.evaluate("document.activeElement.id") == "adopt-reason"
