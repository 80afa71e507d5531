"""Lock for wiping, sound, staying awake and the whole glass, in a real browser."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenAt, Served, until
from tests.fakes import canned

pytestmark = pytest.mark.browser

STUB = """
window.played = [];
window.AudioContext = class {
  constructor() { this.state = window.blocked ? 'suspended' : 'running'; this.destination = {}; }
  get currentTime() { return performance.now() / 1000; }
  resume() { if (!window.blocked) this.state = 'running'; return Promise.resolve(); }
  createGain() {
    const loud = [];
    const gain = { setValueAtTime: (v) => loud.push(v), linearRampToValueAtTime: (v) => loud.push(v) };
    return { gain, loud, connect: (next) => next };
  }
  createOscillator() {
    const wave = { frequency: {}, connect(next) { wave.loud = next.loud; return next; }, stop(at) { wave.end = at; },
      start(at) { window.played.push({ hertz: wave.frequency.value, at, wave }); } };
    return wave;
  }
};
"""
PLAYED = "() => window.played.map(n => [n.hertz, n.at, n.wave.end - n.at, Math.max(...n.wave.loud)])"


def heard(open_at: OpenAt, served: Served, before: str = "") -> Page:
    page = open_at("/stations")
    page.add_init_script(STUB + before)
    page.goto(f"{served.url}/station/stove")
    expect(page.locator("form[data-act] input[name=command_id]")).to_have_count(0)
    return page


def test_alarm_sounds_three_falling_notes_every_ten_seconds_until_it_is_seen(open_at: OpenAt, served: Served) -> None:
    page = heard(open_at, served)
    assert page.evaluate(PLAYED) == []
    served.gateway.show(canned.busy_station(alarms=(canned.WARM_FREEZER,)))
    until(page, "() => window.played.length >= 6", 20)
    notes = page.evaluate(PLAYED)[:6]
    assert [hertz for hertz, *_ in notes[:3]] == sorted({hertz for hertz, *_ in notes[:3]}, reverse=True)
    assert [n[0] for n in notes[:3]] == [n[0] for n in notes[3:]]
    assert all(500 <= hertz <= 1500 for hertz, *_ in notes)
    assert notes[3][1] - notes[0][1] == pytest.approx(10, abs=1.5)
    page.get_by_role("button", name="Mark as seen").click()
    expect(page.locator(".alarm-seen")).to_be_visible()
    count = len(page.evaluate(PLAYED))
    page.wait_for_timeout(11_000)
    assert len(page.evaluate(PLAYED)) == count


def test_window_that_closes_sounds_two_equal_notes_once_a_minute_and_three_times(
    open_at: OpenAt, served: Served
) -> None:
    page = open_at("/stations")
    page.add_init_script(STUB)
    page.clock.install()
    closing = canned.task("B2.blend", "Blend", start=9, window=canned.window(-30, 9, 21, "closing"))
    served.gateway.show(canned.busy_station(next_here=(closing,)))
    page.goto(f"{served.url}/station/stove")
    page.clock.run_for(1000)
    notes = page.evaluate(PLAYED)
    assert len(notes) == 2
    assert notes[0][0] == notes[1][0]
    counts = []
    for _ in range(5):
        page.clock.run_for(60_500)
        counts.append(len(page.evaluate(PLAYED)))
    assert counts == [4, 6, 6, 6, 6]


def test_task_that_is_due_sounds_one_note_once_and_not_again_after_a_reload(open_at: OpenAt, served: Served) -> None:
    page = heard(open_at, served)
    served.gateway.show(canned.due_station())
    until(page, "() => window.played.length > 0")
    page.wait_for_timeout(1500)
    assert len(page.evaluate(PLAYED)) == 1
    page.reload()
    expect(page.locator("form[data-act] input[name=command_id]")).to_have_count(0)
    page.wait_for_timeout(1500)
    assert page.evaluate(PLAYED) == []


def test_sound_that_the_browser_blocks_asks_for_a_touch(open_at: OpenAt, served: Served) -> None:
    page = heard(open_at, served, "window.blocked = true;")
    tool = page.locator("header [data-screen]")
    expect(tool).to_have_text("Sound off, touch")
    page.evaluate("window.blocked = false")
    tool.click()
    expect(tool).to_have_text("Sound on")
    expect(page.locator("#screen")).to_be_hidden()


def test_sound_is_turned_off_and_down_for_this_screen_and_hides_no_alarm(open_at: OpenAt, served: Served) -> None:
    page = heard(open_at, served)
    page.locator("header [data-screen]").click()
    page.locator("#screen [name=volume]").fill("20")
    page.get_by_role("button", name="Try: alarm").click()
    assert [loud for *_, loud in page.evaluate(PLAYED)] == [0.2, 0.2, 0.2]
    page.locator("#screen [name=sound]").uncheck()
    page.keyboard.press("Escape")
    expect(page.locator("header [data-screen]")).to_have_text("Sound off")
    page.reload()
    expect(page.locator("form[data-act] input[name=command_id]")).to_have_count(0)
    served.gateway.show(canned.busy_station(alarms=(canned.WARM_FREEZER,)))
    expect(page.locator(".alarm b")).to_have_text("Freezer too warm: −12.4 °C")
    page.wait_for_timeout(1500)
    assert page.evaluate(PLAYED) == []


def test_locked_screen_takes_no_touch_shows_alarms_and_opens_by_a_finger_that_is_held(
    open_at: OpenAt, served: Served
) -> None:
    page = heard(open_at, served)
    before = page.get_by_role("button", name="Finish tray").bounding_box()
    page.locator("header [data-lock]").click()
    expect(page.locator(".locked")).to_be_visible()
    assert before is not None
    assert page.locator(".job").nth(1).evaluate("e => e.closest('[inert]') !== null")
    page.mouse.click(before["x"] + 20, before["y"] + 20)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert served.gateway.submitted == []
    served.gateway.show(canned.busy_station(alarms=(canned.WARM_FREEZER,)))
    expect(page.locator(".alarm b")).to_be_visible()
    until(page, "() => window.played.length >= 3", 5)
    target = page.locator("[data-unlock]").bounding_box()
    assert target is not None
    assert target["height"] >= 96
    page.mouse.move(target["x"] + 40, target["y"] + 40)
    page.mouse.down()
    page.mouse.move(target["x"] + 200, target["y"] + 60)  # a cloth wanders
    page.wait_for_timeout(2400)
    page.mouse.up()
    expect(page.locator(".locked")).to_be_visible()
    page.mouse.down()
    page.wait_for_timeout(2400)
    page.mouse.up()
    expect(page.locator(".locked")).to_be_hidden()
    assert page.get_by_role("button", name="Finish tray").is_enabled()


def test_lock_opens_by_a_key_that_is_held_and_by_itself_after_a_minute(open_at: OpenAt) -> None:
    page = open_at("/stations")
    page.clock.install()
    page.goto(page.url.replace("/stations", "/station/stove"))
    page.clock.run_for(500)
    page.locator("header [data-lock]").click()
    expect(page.locator("[data-opens-itself]")).to_contain_text("Opens by itself in 60 s")
    page.keyboard.down("Enter")
    page.clock.run_for(1000)
    page.keyboard.up("Enter")
    expect(page.locator(".locked")).to_be_visible()
    page.keyboard.down("Enter")
    page.clock.run_for(2100)
    page.keyboard.up("Enter")
    expect(page.locator(".locked")).to_be_hidden()
    page.locator("header [data-lock]").click()
    page.clock.run_for(58_000)
    expect(page.locator(".locked")).to_be_visible()
    page.clock.run_for(3000)
    expect(page.locator(".locked")).to_be_hidden()


def test_screen_is_kept_awake_and_again_after_sleep_and_says_so_where_it_cannot(
    open_at: OpenAt, served: Served
) -> None:
    wake = """
    window.asked = 0;
    Object.defineProperty(navigator, 'wakeLock', { configurable: true, value: { request: async () => {
      window.asked += 1;
      window.held = new EventTarget();
      return window.held;
    } } });"""
    page = heard(open_at, served, wake)
    assert page.evaluate("window.asked") == 1
    page.evaluate("window.held.released = true; document.dispatchEvent(new Event('visibilitychange'))")
    until(page, "() => window.asked === 2")
    without = heard(open_at, served, "delete Navigator.prototype.wakeLock;")
    without.locator("header [data-screen]").click()
    expect(without.locator("[data-wake-state]")).to_contain_text("set the device itself never to sleep")


def test_screen_fills_the_glass_again_with_the_next_touch(open_at: OpenAt, served: Served) -> None:
    page = heard(open_at, served)
    page.locator("header [data-screen]").click()
    page.locator("[data-full]").click()
    until(page, "() => document.fullscreenElement !== null")
    page.keyboard.press("Escape")
    page.reload()
    expect(page.locator("form[data-act] input[name=command_id]")).to_have_count(0)
    page.evaluate("localStorage.setItem('screen full', 'true')")  # as chosen before the device slept
    assert page.evaluate("document.fullscreenElement") is None
    page.locator(".job h2 span").first.click()
    until(page, "() => document.fullscreenElement !== null")
