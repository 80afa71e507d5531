"""From a recipe over a draft and its trial to the revision by which the plan goes on, in a real browser."""

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from display.views import CoreViews
from orchestrator.core.commands import Command
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import PlanAdopted
from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.core.models import PlanRequest
from orchestrator.core.models.questions import Answer, Question, WhatIfQuestion
from orchestrator.core.planning import plan_request
from orchestrator.core.state import State
from orchestrator.gateway.door import Outcome
from orchestrator.kitchen.read import read_kitchen
from orchestrator.planner.answers import answer
from orchestrator.planner.plan import make_plan
from orchestrator.ports.planning import OnBetter
from tests.browser.conftest import Served
from tests.fakes.kitchen_gateway import KitchenGateway

pytestmark = pytest.mark.browser
CONFIG = Path(__file__).parents[2] / "config"
SIZES = [(1280, 800), (1920, 1080), (390, 844)]


class PlannedKitchen(KitchenGateway):
    """The planner's own code answers what-ifs, and plans anew once the kitchen was changed."""

    def ask(self, question: Question, timeout_s: float = 60.0, on_better: OnBetter | None = None) -> Answer | Refusal:
        """As the planner does, in this process and with little time."""
        if not isinstance(question, WhatIfQuestion):
            return Refusal(code=RefusalCode.UNAVAILABLE, thing="planner", status="not asked here", remedy="none")
        return answer(question.model_copy(update={"seconds": 1.0}), lambda: False)

    def submit(self, command: Command, timeout_s: float = 10.0) -> Outcome:
        """A new plan follows a change of the kitchen."""
        outcome = super().submit(command, timeout_s)
        if isinstance(command, ChangeKitchen) and not isinstance(outcome, Refusal):
            plan = make_plan(plan_request(self.state, self.now), effort="repair", seconds=1).plan
            assert plan is not None
            self.happen(PlanAdopted(plan=plan, at=self.now, person=None))
        return outcome


@cache
def planned() -> State:
    kitchen = read_kitchen(CONFIG)
    plan = make_plan(PlanRequest(kitchen=kitchen, now=kitchen.planning_start), effort="repair", seconds=1).plan
    assert plan is not None
    return replace(State(kitchen=kitchen, plan=plan), revision=1)


@pytest.fixture
def house() -> Iterator[tuple[PlannedKitchen, Served]]:
    state = planned()
    assert state.kitchen is not None
    gateway = PlannedKitchen(state, state.kitchen.planning_start)
    served = Served(gateway, CoreViews())
    yield gateway, served
    served.stop()


def opened(browser: Browser, served: Served, path: str, width: int = 1280, height: int = 800, **more: object) -> Page:
    context = browser.new_context(viewport={"width": width, "height": height}, **more)  # type: ignore[arg-type]
    context.add_cookies([{"name": "person", "value": "manager", "url": served.url}])
    page = context.new_page()
    page.goto(served.url + path)
    return page


@pytest.mark.parametrize("scripts", [True, False])
def test_trial_becomes_the_revision_by_which_the_plan_makes_the_next_batch(
    browser: Browser, house: tuple[PlannedKitchen, Served], scripts: bool
) -> None:
    gateway, served = house
    page = opened(browser, served, "/recipes/damson-sorbet", java_script_enabled=scripts)
    page.get_by_role("link", name="Change it: write a draft").click()
    page.locator("#step-1 > summary").click()
    page.locator('input[name="f:steps.0.takes.1.amount"]').fill("560 g")
    page.locator('input[name="note"]').fill("a little sweeter")
    page.get_by_role("button", name="Save the draft").click()
    page.wait_for_url(re.compile(r"/drafts/1$"))
    page.locator('input[name="brix"]').fill("28,5")
    page.locator('textarea[name="notes"]').fill("Rounder, less tart.")
    page.get_by_role("button", name="Record the trial").click()
    expect(page.get_by_text("Rounder, less tart.")).to_be_visible()
    page.get_by_role("link", name="Approve as written").click()
    page.wait_for_url(re.compile(r"/changes\?"))
    expect(page.get_by_text("made by revision 2")).to_be_visible()
    page.locator("#adopt-reason").fill("tasted by all")
    page.locator(".adopt button").click()
    page.wait_for_url(re.compile(r"/drafts/1$"))
    expect(page.get_by_text("approved as revision 2").first).to_be_visible()
    plan = gateway.state.plan
    assert plan is not None
    assert {batch.revision for batch in plan.batches if batch.recipe == "damson-sorbet"} == {2}
    page.goto(f"{served.url}/recipes/damson-sorbet")
    expect(page.locator("#revisions")).to_contain_text("550")
    expect(page.locator("#revisions")).to_contain_text("560")


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_recipe_pages_fit_and_every_target_can_be_hit_with_a_wet_hand(
    browser: Browser, house: tuple[PlannedKitchen, Served], width: int, height: int
) -> None:
    _, served = house
    for path in ("/recipes", "/recipes/damson-sorbet?opened=yes", "/drafts/new?of=damson-sorbet", "/drafts", "/crew"):
        page = opened(browser, served, path, width, height)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
        small = page.evaluate(
            """() => [...document.querySelectorAll('main a, main button, main summary, main select, main input')]
            .filter(e => e.offsetParent && !['hidden', 'checkbox'].includes(e.type) && !e.matches('.only-heard'))
            .map(e => [e.getBoundingClientRect(), e.tagName + ' ' + (e.innerText || e.name)])
            .filter(([r, _]) => r.height < 48 || r.width < 44).map(([_, name]) => name)"""
        )
        assert small == [], path
        page.context.close()
