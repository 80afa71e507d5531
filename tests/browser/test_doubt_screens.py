"""A freezer that fails, and a deviation from its opening to its end, in a real browser over core's own rules."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

import pytest
from playwright.sync_api import expect

from orchestrator.core.ids import DeviationId, EquipmentId, LotCode, ProbeId, TaskId
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.probe_fact import Spell
from orchestrator.core.state import LotStatus
from orchestrator.kitchen.shipped import shipped_cards, shipped_limits
from orchestrator.ports.event_log import Reading
from tests.browser.conftest import Open
from tests.core.doubt_script import churned, hold, with_second_freezer
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at

pytestmark = pytest.mark.browser

SIZES = [(1280, 800), (1920, 1080), (390, 844)]
WARM_SINCE = at("Thu 14:00")


class Failing(KitchenGateway):
    """The freezer's air: −18 °C, from 14:00 on warmer, by 15:00 at −9 °C."""

    def readings(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        """One every two minutes."""
        if probe != "freezer-air":
            return super().readings(probe, since, until)
        found = []
        instant = since
        while instant <= until:
            minutes = (instant - WARM_SINCE).total_seconds() / 60
            celsius = -18.0 if minutes < -20 else max(-18.0, min(-9.0, -15.0 + minutes / 10))
            found.append(Reading(probe, round(celsius, 2), instant, instant))
            instant += timedelta(minutes=2)
        return found


def _gateway(script: Script) -> Failing:
    gateway = Failing(script.state, script.now, facts=script.facts)
    gateway.records = list(script.log)
    return gateway


def freezer_failing() -> Failing:
    """Thursday 15:00: basil custard B1 is in the freezer, which is too warm for an hour; a second one stands beside."""
    script = churned(in_a_planned_kitchen(equipment=with_second_freezer("30 L")))
    script.reads("freezer-air", "freezer", celsius=-9.0, worst_c=-9.0, outside_since=WARM_SINCE)
    script.give("Thu 15:00", "tick")
    return _gateway(script)


def too_warm_reported() -> Failing:
    """Thursday 12:00: somebody doubts the base that B1 was churned from."""
    script = churned(in_a_planned_kitchen())
    hold(script, "Thu 12:00", "C1.chill", "temperature")
    return _gateway(script)


@pytest.mark.parametrize("path", ["/places", "/places/freezer", "/deviations", "/deviations/DEV-1", "/lots"])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_pages_fit_their_screen_and_decisions_are_64_px_high(
    open_over: Callable[[Failing], Open], path: str, width: int, height: int
) -> None:
    page = open_over(freezer_failing())(path, width=width, height=height)
    expect(page.locator("main")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    targets = page.locator(".answers button:visible, .answers summary:visible, .measure button:visible")
    assert targets.count() == (5 if path.startswith("/places") else 0)
    for number in range(targets.count()):
        box = targets.nth(number).bounding_box()
        assert box is not None
        assert box["height"] >= 64


def test_softened_lot_is_measured_moved_and_stays_on_the_page_until_then(
    open_over: Callable[[Failing], Open],
) -> None:
    gateway = freezer_failing()
    page = open_over(gateway)("/places/freezer", person="early-cook")
    card = page.locator('[data-task="freezer-B1"]')
    expect(card).to_contain_text("It may have softened")
    reason = gateway.state.deviations[DeviationId("DEV-1")].facts.reason
    expect(page.locator(".place-head").first).to_contain_text(reason)
    expect(page.locator(".place-curve svg.trace polyline")).to_have_count(1)
    card.get_by_role("button", name="Kept and watched").click()
    expect(page.locator("body")).to_contain_text("Measure its middle by hand")
    assert gateway.state.deviations
    assert not gateway.state.lots
    # The air is cold again; the lot is still asked about, and nothing was refrozen unseen.
    spell = Spell(since=WARM_SINCE, until=at("Thu 15:05"), worst_c=-9.0)
    gateway.now = at("Thu 15:06")
    fact = ProbeFact(
        probe=ProbeId("freezer-air"),
        equipment=EquipmentId("freezer"),
        celsius=-18.0,
        measured_at=at("Thu 15:05"),
        spell=spell,
    )
    gateway.facts = {fact.probe: fact}
    page.goto(page.url)
    card = page.locator('[data-task="freezer-B1"]')
    card.get_by_label("Hand-held temperature").fill("-15.6")
    card.get_by_role("button", name="Enter what you measured").click()
    expect(card).to_contain_text("Measured −15.6 °C by hand")
    expect(card).not_to_contain_text("measure to know")
    expect(page.locator("section.place")).to_contain_text("The lots are still asked about")
    card.get_by_role("button", name="Moved to Second freezer").click()
    expect(card).not_to_contain_text("Enter what you measured")
    expect(page.locator("section.place")).to_contain_text("All decided")
    expect(card).to_contain_text("→ Second freezer")
    stay = next(r for t, r in gateway.state.tasks.items() if t == "B1.harden.SAT-STALL")
    assert stay.equipment == "freezer-2"


def test_power_cut_asks_about_every_store_at_once(open_over: Callable[[Failing], Open]) -> None:
    gateway = freezer_failing()
    page = open_over(gateway)("/places", person="early-cook")
    page.get_by_role("button", name="Power cut: all stores stand still").click()
    expect(page.get_by_role("button", name="The power is back")).to_be_visible()
    assert set(gateway.state.machines) == {"fridge", "freezer", "freezer-2"}
    page.get_by_role("button", name="The power is back").click()
    expect(page.get_by_role("button", name="Power cut: all stores stand still")).to_be_visible()
    assert gateway.state.machines == {}


def test_lot_is_discarded_only_with_a_reason_and_in_two_taps(open_over: Callable[[Failing], Open]) -> None:
    gateway = freezer_failing()
    page = open_over(gateway)("/places/freezer", person="early-cook")
    card = page.locator('[data-task="freezer-B1"]')
    card.locator("summary").click()
    card.get_by_label("Why").fill("soft all through")
    card.get_by_role("button", name="Discard it").click()
    expect(card).to_contain_text("Discarded")
    assert gateway.state.lots[LotCode("B1")].status is LotStatus.DISCARDED


def test_deviation_goes_from_its_opening_to_disposition_and_end(open_over: Callable[[Failing], Open]) -> None:
    gateway = too_warm_reported()
    opened = open_over(gateway)
    page = opened("/lots", person="manager")
    card = page.locator("#C1")
    expect(card).to_contain_text("A safety limit was broken")
    card.get_by_label("Release", exact=True).check()
    card.get_by_label("Why: what was checked").fill("logger was outside the food")
    card.get_by_label("Local code or licensed practice").fill("local code 4, by the inspector")
    card.get_by_role("button", name="Decide").click()
    expect(page.locator("body")).to_contain_text("nobody else has looked")
    # Somebody else looks.
    other = opened("/deviations/DEV-1", person="counter-hand")
    other.get_by_label("Second look").check()
    other.get_by_label("In words").fill("measured again: 3 °C")
    other.get_by_role("button", name="Put on record").click()
    expect(other.locator("main")).to_contain_text("measured again: 3 °C, Counter hand")
    page.goto(page.url)
    card = page.locator("#C1")
    card.get_by_label("Release", exact=True).check()
    card.get_by_label("Why: what was checked").fill("logger was outside the food")
    card.get_by_label("Local code or licensed practice").fill("local code 4, by the inspector")
    card.get_by_role("button", name="Decide").click()
    expect(page.locator("#C1.card")).to_have_count(0)
    # What was made from it is decided by itself, and only then the deviation can be closed.
    page.goto(page.url.replace("/lots", "/deviations/DEV-1"))
    page.get_by_role("button", name="Close the deviation").click()
    expect(page.locator("body")).to_contain_text("nobody has decided about B1")
    page.goto(page.url.replace("/deviations/DEV-1", "/lots"))
    card = page.locator("#B1")
    card.get_by_label("Discard", exact=True).check()
    card.get_by_label("Why: what was checked").fill("not worth the doubt")
    card.get_by_role("button", name="Decide").click()
    expect(page.locator("#B1.card")).to_have_count(0)
    page.goto(page.url.replace("/lots", "/deviations/DEV-1"))
    page.get_by_label("Probe checked").check()
    page.get_by_role("button", name="Put on record").click()
    expect(page.locator("main")).to_contain_text("Probe checked")
    page.get_by_label("What keeps it from happening again").fill("probe clipped to the pan")
    page.get_by_role("button", name="Close the deviation").click()
    expect(page.locator("main p", has_text="closed")).to_contain_text("probe clipped to the pan")
    assert gateway.state.lots[LotCode("B1")].status is LotStatus.DISCARDED
    (deviation,) = gateway.state.deviations.values()
    assert (deviation.closed_by, deviation.note) == ("manager", "probe clipped to the pan")
    page.goto(page.url.replace("/deviations/DEV-1", "/record/C1"))
    expect(page.locator(".record-deviation")).to_contain_text("second look: Counter hand; by local code 4")


def curdled() -> Failing:
    """Wednesday 08:30: somebody has reported that the base on the hob curdles."""
    script = in_a_planned_kitchen(cards=shipped_cards(), limits=shipped_limits().limits)
    script.give("Wed 08:00", "start_task", task="C1.cook", person="early-cook")
    script.give("Wed 08:30", "report_problem", task="C1.cook", what="quality", text="grains", person="early-cook")
    return _gateway(script)


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_rescue_card_stands_beside_the_step_with_its_limit_first(
    open_over: Callable[[Failing], Open], width: int, height: int
) -> None:
    gateway = curdled()
    opened = open_over(gateway)
    station = opened("/station/stove", person="early-cook", width=width, height=height)
    station.get_by_role("link", name="What helps: Curdled").click()
    station.wait_for_url("**/task/C1.cook#rescue")
    card = station.locator("#rescue-curdled")
    expect(card).to_contain_text("This may be it")
    words = card.inner_text().replace("\u00a0", " ")
    assert words.index("at least 69 °C, held for 30 min") < words.index("Still helps") < words.index("Discard when")
    assert station.evaluate("document.documentElement.scrollWidth") <= width
    button = card.get_by_role("button", name="Add 15 min to the step")
    box = button.bounding_box()
    assert box is not None
    assert box["height"] >= 64
    button.click()
    expect(station.locator("body")).to_contain_text("Time added")
    assert gateway.state.tasks[TaskId("C1.cook")].extended_min == 15


def test_cards_of_the_work_are_there_on_request_when_nothing_is_wrong(open_over: Callable[[Failing], Open]) -> None:
    page = open_over(curdled())("/task/C1.chill")
    card = page.locator("#rescue-cooling-slowly")
    expect(card).not_to_contain_text("This may be it")
    card.locator("summary").click()
    expect(card).to_contain_text("Divide it into flat vessels")
    expect(page.locator("#rescue-curdled")).to_have_count(0)
