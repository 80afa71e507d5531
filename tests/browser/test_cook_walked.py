"""Where a cook alone stopped: a clock under names and buttons, a cut time, a word broken inside, a clipped line."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest
from playwright.sync_api import expect

from orchestrator.core.attendance import Attendance
from orchestrator.core.ids import CrewId
from orchestrator.core.models.alarm import AlarmStatus
from orchestrator.core.models.handover import Handover, HandoverNote
from tests.browser.conftest import Open, OpenAt, Served, Windows
from tests.browser.test_doubt_screens import Failing, freezer_failing
from tests.fakes import canned

pytestmark = pytest.mark.browser

OVER_THE_CLOCK = """() => {
  const clock = document.querySelector("header.top .clock").getBoundingClientRect();
  const kinds = "h1, .person, .crew-here, .shift-end, button, .practice-mark, .link-mark, nav a";
  const over = (box) => box.width && box.left < clock.right && box.right > clock.left
    && box.top < clock.bottom && box.bottom > clock.top;
  return [...document.querySelectorAll(`header.top :is(${kinds})`)]
    .filter((one) => one.checkVisibility() && over(one.getBoundingClientRect()))
    .map((one) => one.textContent.trim());
}"""
"""Words of what lies over the clock, or under it."""


def people_here(served: Served, names: dict[str, str]) -> None:
    """So many are here, by names of their own."""
    state = served.gateway.snapshot().state
    assert state.kitchen is not None
    crew = tuple(m.model_copy(update={"name": names.get(m.id, m.name)}) for m in state.kitchen.crew)
    came = {CrewId(name): canned.NOW - timedelta(minutes=5) for name in names}
    kitchen = state.kitchen.model_copy(update={"crew": crew})
    served.gateway.set_snapshot(state=replace(state, kitchen=kitchen, attendance=Attendance(came=came)))


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("person", ["", "early-cook"])
def test_nothing_in_the_header_lies_over_the_clock_with_long_names_three_here_and_no_link(
    served: Served, windows: Windows, language: str, person: str
) -> None:
    names = ("Cook of the stove and the churn", "Cook of the late shift", "Hand at the counter")
    people_here(served, dict(zip(("early-cook", "late-cook", "counter-hand"), names, strict=True)))
    cookies = {"person": person, "language": language}
    page = windows.open(served.url + "/station/stove", cookies=cookies)
    expect(page.locator(".panel-crew-here")).to_contain_text("(3)")
    assert page.evaluate(OVER_THE_CLOCK) == []
    page.evaluate("""() => {
      document.body.classList.add("off");
      document.querySelector(".is-linked").hidden = true;
      document.querySelector(".is-offline").hidden = false;
    }""")
    assert page.evaluate(OVER_THE_CLOCK) == []
    page.goto(f"{served.url}/person?back=/station/stove")
    assert page.evaluate(OVER_THE_CLOCK) == []


def test_long_name_on_a_seated_page_in_spanish_stays_clear_of_the_clock(served: Served, windows: Windows) -> None:
    people_here(served, {"early-cook": "Cocina de fuegos y mantecadora"})
    page = windows.open(served.url + "/alarms", cookies={"person": "early-cook", "language": "es"})
    expect(page.locator("header .person")).to_be_visible()
    assert page.evaluate(OVER_THE_CLOCK) == []


def test_plan_and_latest_on_other_days_are_whole_beside_their_window_in_spanish(
    served: Served, windows: Windows
) -> None:
    window = canned.window(None, 60 * 55, 60 * 80)
    far = canned.OWN[0].model_copy(update={"window": window, "temperature": None})
    served.gateway.show(canned.busy_station(on_its_own=(far,)))
    page = windows.open(served.url + "/station/stove", cookies={"language": "es"})
    facts = page.locator(".state small", has_text="hasta dom")
    expect(facts).to_have_text("plan sáb 16:42 · hasta dom 17:42")
    assert facts.evaluate("e => e.scrollWidth <= e.clientWidth")


def test_words_on_the_buttons_of_a_decision_are_not_broken_inside_on_a_phone(
    open_over: Callable[[Failing], Open],
) -> None:
    page = open_over(freezer_failing())("/places/freezer", width=390, height=844)
    page.context.add_cookies([{"name": "language", "value": "es", "url": page.url}])
    page.reload()
    button = page.get_by_role("button", name="Conservado y vigilado")
    assert (
        button.evaluate("""e => {
      const words = document.createRange(), lines = new Set();
      const text = e.firstChild;
      words.setStart(text, text.textContent.indexOf("Conservado"));
      words.setEnd(text, text.textContent.indexOf("Conservado") + "Conservado".length);
      for (const box of words.getClientRects()) lines.add(Math.round(box.top));
      return lines.size;
    }""")
        == 1
    )


def test_last_line_of_a_step_beside_a_verdict_is_whole_where_two_lines_of_cautions_stand(
    open_at: OpenAt, served: Served
) -> None:
    done = canned.heating(met_at=canned.later(-3), reached_at=canned.later(-4), held_min=3.0, hold_min=1)
    served.gateway.show(
        canned.busy_station(in_hand=(canned.COOK.model_copy(update={"temperature": done}), canned.BAKE))
    )
    page = open_at()
    job = page.locator(".job").first
    job.locator("[data-turn='1']").click()
    expect(job.locator(".steps li:not([hidden])")).to_be_visible()
    expect(job.locator(".heed")).to_have_css("height", "40px")
    assert job.locator(".do").evaluate("e => e.scrollHeight - e.clientHeight") == 0


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_note_that_nobody_has_taken_over_is_offered_beside_work_in_hand_on_every_size_but_not_to_its_author(
    served: Served, windows: Windows, width: int, height: int
) -> None:
    state = served.gateway.snapshot().state
    empty = HandoverNote(since=canned.later(-480), until=canned.NOW)
    note = Handover(number=7, at=canned.later(-10), by=CrewId("early-cook"), note=empty)
    served.gateway.set_snapshot(state=replace(state, handovers=(note,)))
    page = windows.open(served.url + "/station/stove", width, height, cookies={"person": "late-cook"})
    expect(page.locator(".job")).to_have_count(2)
    offer = page.get_by_role("link", name="Read hand-over note")
    expect(offer).to_have_count(1)
    offer.scroll_into_view_if_needed()
    box = offer.bounding_box()
    assert box is not None
    assert box["height"] >= 48
    assert offer.evaluate("""e => {
      const box = e.getBoundingClientRect();
      return e.contains(document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2));
    }""")
    assert page.evaluate(OVER_THE_CLOCK) == []
    author = windows.open(served.url + "/station/stove", width, height, cookies={"person": "early-cook"})
    expect(author.locator(".job")).to_have_count(2)
    expect(author.get_by_role("link", name="Read hand-over note")).to_have_count(0)


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_idle_station_offers_the_note_once_to_everybody_but_its_author(
    served: Served, windows: Windows, width: int, height: int
) -> None:
    served.gateway.show(canned.idle_station())
    state = served.gateway.snapshot().state
    empty = HandoverNote(since=canned.later(-480), until=canned.NOW)
    note = Handover(number=7, at=canned.later(-10), by=CrewId("early-cook"), note=empty)
    served.gateway.set_snapshot(state=replace(state, handovers=(note,)))
    for cookies, offers in (({}, 1), ({"person": "late-cook"}, 1), ({"person": "early-cook"}, 0)):
        page = windows.open(served.url + "/station/stove", width, height, cookies=cookies)
        expect(page.locator(".idle")).to_be_visible()
        expect(page.get_by_role("link", name="Read hand-over note")).to_have_count(offers)
        assert page.evaluate(OVER_THE_CLOCK) == []


def test_alarm_that_was_seen_is_told_in_whole_lines_in_the_sill_of_a_phone(served: Served, open_at: OpenAt) -> None:
    facts = canned.WARM_FREEZER.facts.model_copy(update={"title": "Freezer of the pastry kitchen"})
    seen = canned.WARM_FREEZER.model_copy(
        update={
            "facts": facts,
            "status": AlarmStatus.ACKNOWLEDGED,
            "acknowledged_at": canned.NOW,
            "acknowledged_by": "early-cook",
        }
    )
    served.gateway.show(canned.idle_station().model_copy(update={"alarms": (seen,)}))
    page = open_at(width=390, height=844)
    text = page.locator(".sill-seen .alarm-seen p")
    assert text.locator("b").evaluate("e => e.getClientRects()[0].height") > 20  # two lines: else this shows nothing
    assert text.evaluate("""e => {
      const frame = e.parentElement.getBoundingClientRect();
      const edge = parseFloat(getComputedStyle(e.parentElement).borderTopWidth);
      return [...e.children].every(line => line.getBoundingClientRect().top >= frame.top + edge
        && line.getBoundingClientRect().bottom <= frame.bottom - edge);
    }""")


def test_name_of_one_word_is_whole_in_the_header_of_a_seated_page_in_spanish(served: Served, windows: Windows) -> None:
    people_here(served, {"early-cook": "Encargado"})
    page = windows.open(served.url + "/alarms", cookies={"person": "early-cook", "language": "es"})
    name = page.locator("header .person span")
    expect(name).to_have_text("Encargado")
    assert name.evaluate("e => e.scrollWidth <= e.clientWidth")
