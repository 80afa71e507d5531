"""The planning table's main path in a real browser, with the real engine and planner: order, preview, plan, restart."""

import asyncio
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from orchestrator.adapters.scaled_clock import ScaledClock
from orchestrator.bootstrap import Hooks, Settings, System, build
from orchestrator.core.state import State
from orchestrator.kitchen import read_kitchen

pytestmark = pytest.mark.browser

EXAMPLE = Path(__file__).parents[2] / "config"
PLANNED_WITHIN_S = 120.0
"""Patience with a busy machine; nothing is asserted about time."""


class House:
    """A whole program on a loop of its own thread, its clock standing at the planning start."""

    def __init__(self, data: Path) -> None:
        self.loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self.loop.run_forever, daemon=True)
        self._thread.start()
        clock = ScaledClock(read_kitchen(EXAMPLE).planning_start, rate=0)
        self.system: System = build(Settings(data=data, kitchen=EXAMPLE, broker="none"), Hooks(clock=clock))
        self._run(self.system.start())

    def _run(self, work: object) -> object:
        return asyncio.run_coroutine_threadsafe(work, self.loop).result(60)  # type: ignore[arg-type]

    @property
    def state(self) -> State:
        """As it is."""
        return self.system.gateway.snapshot().state

    def wait(self, until: Callable[[State], bool], what: str) -> State:
        """The first state of which that is true."""
        deadline = time.monotonic() + PLANNED_WITHIN_S
        while not until(self.state):
            assert time.monotonic() < deadline, what
            time.sleep(0.1)
        return self.state

    def stop(self) -> None:
        """End it as Ctrl-C does."""
        self._run(self.system.stop())
        self.loop.call_soon_threadsafe(self.loop.stop)
        self._thread.join(10)


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Callable[[], House]]:
    houses: list[House] = []

    def start() -> House:
        houses.append(House(tmp_path / "data"))
        return houses[-1]

    yield start
    houses[-1].stop()


def page_of(browser: Browser, house: House) -> Page:
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    context.add_cookies([{"name": "person", "value": "manager", "url": house.system.url}])
    return context.new_page()


def test_order_added_at_the_table_is_in_the_plan_and_still_there_after_a_restart(
    browser: Browser, opened: Callable[[], House]
) -> None:
    house = opened()
    house.wait(lambda state: state.plan is not None and not state.replan_reason, "no first plan")
    page = page_of(browser, house)
    page.goto(f"{house.system.url}/orders")
    page.get_by_role("link", name="Add an order").click()
    page.get_by_label("For whom").fill("Rowing club")
    page.get_by_label("Handed over by").fill("2026-11-28T15:00")
    page.get_by_label("Product 1").select_option("damson-sorbet")
    page.get_by_label("Amount 1", exact=True).fill("x")
    page.get_by_role("button", name="Show what it would come to").click()
    expect(page.locator("#fault-line_0")).to_contain_text("x is no amount")
    expect(page.get_by_label("For whom")).to_have_value("Rowing club")
    page.get_by_label("Amount 1", exact=True).fill("1,5")
    page.get_by_role("button", name="Show what it would come to").click()
    expect(page.get_by_text("SAT-ROWING-CLUB more: 1.5 L")).to_be_visible()
    expect(page.get_by_role("row", name="Rowing club")).to_contain_text("On time", timeout=PLANNED_WITHIN_S * 1000)
    assert house.state.by_hand.changes == 0
    page.get_by_label("Why").fill("by telephone")
    page.get_by_role("button", name="Carry it out as Manager").click()
    page.wait_for_url("**/orders")
    expect(page.locator(".message.done")).to_contain_text("Carried out and kept.")

    def planned(state: State) -> bool:
        plan = state.proposal.plan if state.proposal is not None else state.plan
        return plan is not None and any(outlook.order == "SAT-ROWING-CLUB" for outlook in plan.outlooks)

    house.wait(planned, "no plan with the order")
    page.goto(f"{house.system.url}/board")
    if house.state.proposal is not None:  # it moves what begins within the hour: a person is asked
        page.get_by_role("button", name="Adopt").click()
    state = house.wait(lambda state: state.proposal is None and planned(state), "the plan was not adopted")
    assert state.plan is not None
    assert any(task.order == "SAT-ROWING-CLUB" for task in state.plan.tasks)
    page.context.close()
    house.stop()

    again = opened()
    assert (again.state.kitchen, again.state.by_hand) == (state.kitchen, state.by_hand)
    page = page_of(browser, again)
    page.goto(f"{again.system.url}/orders")
    expect(page.locator("#SAT-ROWING-CLUB")).to_contain_text("1.5 L damson sorbet")
    expect(page.get_by_text("by telephone")).to_be_visible()
    page.context.close()
