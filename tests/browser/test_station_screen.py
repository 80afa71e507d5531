"""The station screen in a real browser: tapped, streamed to, measured."""

import pytest
from playwright.sync_api import Page, expect

from display import drawing
from orchestrator.core.commands import AcknowledgeAlarm, EnterTemperature, FinishTask, StartTask
from orchestrator.core.models import Measure
from orchestrator.core.models.alarm import Alarm
from orchestrator.core.views.models import TaskView
from tests.browser.conftest import OpenAt, Served
from tests.fakes import canned, canned_trouble

pytestmark = pytest.mark.browser

SIZES = [(1280, 800), (1920, 1080), (390, 844)]
CUT = "e => [e.scrollHeight - e.clientHeight, e.scrollWidth - e.clientWidth].some(d => d > 1)"
"""Whether more stands in an element than is seen of it."""


def linked(page: Page, served: Served) -> None:
    """Wait until the event stream is open and its panels have come."""
    expect(page.locator("form[data-act] input[name=command_id]")).to_have_count(0)  # streamed panels carry none


def test_start_to_finish_by_tapping(open_at: OpenAt, served: Served) -> None:
    served.gateway.show(canned.idle_station())
    page = open_at()
    page.get_by_role("button", name="Start now").click()
    expect(page.locator(".job h2 a").first).to_have_text("Weigh custard base")
    page.get_by_role("button", name="Finish step").click()
    expect(page.locator(".last-act b")).to_have_text("Weigh custard base")
    kinds = [command.kind for command in served.gateway.submitted]
    assert kinds == ["start_task", "finish_task"]
    ids = {command.command_id for command in served.gateway.submitted}
    assert len(ids) == 2
    assert all(command.tapped_at is not None for command in served.gateway.submitted)


def test_measured_step_is_finished_with_its_value_on_the_details_page(open_at: OpenAt, served: Served) -> None:
    page = open_at("/task/C2.cook")
    page.locator("#measured").fill("4.8")
    page.locator("#finish button").click()
    page.wait_for_url("**/station/stove")
    expect(page.locator(".message")).to_contain_text("Done")
    command = served.gateway.submitted[-1]
    assert isinstance(command, FinishTask)
    assert command.measured == {Measure.VOLUME_L: 4.8}


def test_refused_act_shows_its_remedy_and_moves_no_button(open_at: OpenAt, served: Served) -> None:
    served.gateway.show(canned.due_station())
    page = open_at()
    button = page.locator(".job form button").first
    before = button.bounding_box()
    button.click()
    message = page.locator(".message.refused")
    expect(message).to_contain_text("Base at most 4 °C: now 6.2 °C")
    expect(message).to_contain_text("Chill on until it is at most 4 °C")
    assert button.bounding_box() == before
    message.get_by_role("button", name="Close").click()
    expect(message).to_have_count(0)


def test_undo_takes_the_last_act_back(open_at: OpenAt, served: Served) -> None:
    page = open_at()
    page.get_by_role("button", name="Finish tray").click()
    expect(page.locator(".arrival .figure-2").nth(1)).to_have_text("36")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".arrival .figure-2").nth(1)).to_have_text("27")


def test_stream_renews_a_panel_without_losing_focus_or_what_is_typed(open_at: OpenAt, served: Served) -> None:
    served.gateway.show(canned.troubled_station())
    page = open_at()
    linked(page, served)
    page.locator(".hand-temperature input[name=temperature]").fill("61.")
    warmer = canned.troubled_station()
    bake = warmer.in_hand[1].model_copy(update={"pieces_made": 45})
    served.gateway.show(warmer.model_copy(update={"in_hand": (warmer.in_hand[0], bake)}))
    expect(page.locator(".arrival .figure-2")).to_have_text("45")
    field = page.locator(".hand-temperature input[name=temperature]")
    expect(field).to_be_focused()
    page.keyboard.type("5")
    expect(field).to_have_value("61.5")
    page.keyboard.press("Enter")
    expect(page.locator(".message.done")).to_contain_text("Temperature entered")
    command = served.gateway.submitted[-1]
    assert isinstance(command, EnterTemperature)
    assert command.celsius == 61.5


def test_ticked_amounts_stay_ticked_when_the_panel_is_renewed(open_at: OpenAt, served: Served) -> None:
    page = open_at(width=1920, height=1080)
    linked(page, served)
    page.locator(".amount", has_text="Whole milk").click()
    page.locator(".amount", has_text="Sugar").click()
    expect(page.locator(".weighed")).to_contain_text("2 weighed: Whole milk, Sugar")
    hotter = canned.COOK.model_copy(update={"temperature": canned.heating(celsius=78.0)})
    served.gateway.show(canned.busy_station(in_hand=(hotter, canned.BAKE)))
    expect(page.locator(".figure").first).to_contain_text("78.0")
    expect(page.locator(".weighed")).to_contain_text("2 weighed")
    expect(page.get_by_text("Egg yolk")).to_be_visible()


def test_alarm_comes_by_stream_is_seen_and_keeps_every_button_in_its_place(open_at: OpenAt, served: Served) -> None:
    page = open_at()
    linked(page, served)
    finish = page.get_by_role("link", name="Finish step")
    before = finish.bounding_box()
    served.gateway.show(canned.busy_station(alarms=(canned.WARM_FREEZER,)))
    expect(page.locator(".alarm b")).to_have_text("Freezer too warm: −12.4 °C")
    assert finish.bounding_box() == before
    page.get_by_role("button", name="Mark as seen").click()
    expect(page.locator(".alarm-seen")).to_be_visible()
    assert isinstance(served.gateway.submitted[-1], AcknowledgeAlarm)
    assert finish.bounding_box() == before


def test_countdowns_and_bars_run_by_the_kitchens_clock_and_pause(open_at: OpenAt, served: Served) -> None:
    served.gateway.set_snapshot(rate=60.0)
    page = open_at()
    linked(page, served)
    expect(page.locator("[data-live-clock]")).not_to_have_text("09:42")
    served.gateway.set_snapshot(rate=0.0, now=canned.later(7))
    expect(page.locator("[data-live-clock]")).to_have_text("09:49")
    expect(page.locator("[data-head]").first).to_have_text("Open now")


def test_client_draws_the_bars_that_the_server_draws(open_at: OpenAt) -> None:
    page = open_at()
    cases = [
        (198, 218, 318, "shut"),
        (12, 30, 110, "opening"),
        (None, 90, 900, "open"),
        (None, 8, 24, "closing"),
        (None, 150, 60, "at risk"),
        (None, -12, -12, "missed"),
        (60, 600, None, "shut"),
        (-5, None, 45, "open"),
        (4400, 4500, 9000, "shut"),
    ]
    for opens, planned, closes, state in cases:
        bar = drawing.window_bar(canned.window(opens, planned, closes, state), canned.NOW)
        marks = {"opens": opens, "planned": planned, "closes": closes}
        window = {name: None if m is None else canned.later(m).timestamp() * 1000 for name, m in marks.items()}
        drawn = page.evaluate(
            "async ([window, now]) => (await import('/static/js/bars.js')).geometry(window, now)",
            [{**window, "state": state, "lead": 60}, canned.NOW.timestamp() * 1000],
        )
        expected = {"state": bar.state.value, "hatchTo": bar.hatch_to, "openTo": bar.open_to, "wall": bar.wall}
        expected |= {"jawsFrom": bar.jaws_from, "jawStart": bar.jaw_start_px, "peg": bar.peg, "ring": bar.ring}
        assert drawn == {k: v if isinstance(v, str | None) else pytest.approx(v) for k, v in expected.items()}


def test_lost_link_is_framed_and_taps_say_that_they_are_kept(open_at: OpenAt, served: Served) -> None:
    page = open_at()
    linked(page, served)
    page.context.set_offline(True)
    served.app.close_soon()
    expect(page.locator("body.off")).to_have_count(1)
    expect(page.locator("[data-offline]")).to_contain_text("Offline since 09:42.")
    page.get_by_role("button", name="Finish tray").click()
    expect(page.locator(".message.kept")).to_contain_text("Kept 09:42: Finish tray, Bake cones.")
    page.context.set_offline(False)


@pytest.mark.parametrize("view", ["busy", "due", "idle", "troubled"])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_touch_targets_are_large_enough_and_nothing_overflows(
    open_at: OpenAt, served: Served, view: str, width: int, height: int
) -> None:
    served.gateway.show(getattr(canned, f"{view}_station")())
    page = open_at(width=width, height=height)
    linked(page, served)
    boxes = page.evaluate(
        """() => [...document.querySelectorAll('button, a, input:not([type=hidden]), label')]
        .filter(e => e.checkVisibility() && getComputedStyle(e).pointerEvents !== 'none' && !e.closest('label > *'))
        .map(e => [e, e.getBoundingClientRect()]).map(([e, r]) => (
            {text: e.innerText.slice(0, 30), action: !!e.closest('.actions'), h: r.height, right: r.right}))"""
    )
    assert boxes
    for box in boxes:
        assert box["h"] >= (64 if box["action"] else 48), box
        assert box["right"] <= width, box
    assert page.evaluate("document.documentElement.scrollWidth") == width
    if width > 700:
        assert page.evaluate("document.documentElement.scrollHeight") == height
    gaps = page.evaluate(
        """() => [...document.querySelectorAll('.actions')].flatMap(row => {
            const r = [...row.children].map(e => e.getBoundingClientRect());
            return r.slice(1).map((b, i) => b.top >= r[i].bottom ? b.top - r[i].bottom : b.left - r[i].right); })"""
    )
    assert all(gap >= 16 for gap in gaps), gaps


@pytest.mark.parametrize("script", [True, False])
def test_gate_that_no_probe_can_judge_is_ticked_and_started(open_at: OpenAt, served: Served, script: bool) -> None:
    gates = ({"says": "Churn pre-cooled to −10 °C", "met": None, "celsius": None},)
    churn = canned.task("B1.churn", "Churn basil custard", start=-1, gates=gates)
    served.gateway.show(canned.busy_station(in_hand=(churn,)))
    page = open_at(scripts=script)
    page.get_by_text("I checked: Churn pre-cooled to −10 °C").click()
    page.get_by_role("button", name="Start", exact=True).click()
    expect(page.locator(".message")).to_be_visible()
    command = served.gateway.submitted[-1]
    assert isinstance(command, StartTask)
    assert command.checked == ("Churn pre-cooled to −10 °C",)


def test_tick_of_a_gate_stays_when_the_panel_is_renewed(open_at: OpenAt, served: Served) -> None:
    gates = ({"says": "Churn cold", "met": None, "celsius": None},)
    churn = canned.task("B1.churn", "Churn basil custard", start=-1, gates=gates)
    served.gateway.show(canned.busy_station(in_hand=(churn,)))
    page = open_at()
    linked(page, served)
    page.get_by_text("I checked: Churn cold").click()
    served.gateway.show(canned.busy_station(in_hand=(churn, canned.BAKE)))
    expect(page.locator(".job")).to_have_count(2)
    expect(page.locator("input[name=checked]")).to_be_checked()


def test_age_of_a_reading_runs_by_the_kitchens_clock(open_at: OpenAt, served: Served) -> None:
    page = open_at()
    linked(page, served)
    served.gateway.set_snapshot(rate=0.0, now=canned.later(0.5))
    expect(page.locator("[data-age]").first).to_have_text("30\u00a0s ago")
    served.gateway.set_snapshot(rate=0.0, now=canned.later(3.5))
    expect(page.locator("[data-age]").first).to_have_text("3\u00a0min ago")


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_long_titles_and_names_of_stores_are_not_cut(open_at: OpenAt, served: Served, width: int, height: int) -> None:
    cook = canned.COOK.model_copy(update={"title": "Harden the toasted hazelnut custard"})
    bake = canned.BAKE.model_copy(update={"title": "Clean the churn for damson sorbet"})
    named = ("Blast freezer", "Holding freezer")
    stores = tuple(s.model_copy(update={"name": n}) for s, n in zip(canned.STORES[1:], named, strict=True))
    served.gateway.show(canned.busy_station(in_hand=(cook, bake), stores=(canned.STORES[0], *stores)))
    page = open_at(width=width, height=height)
    linked(page, served)
    cut = page.evaluate(
        """() => [...document.querySelectorAll('.job h2 a, .store-name, .store-temperature, .store .k')]
        .filter(e => e.checkVisibility() && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 3)
            && getComputedStyle(e).display !== 'inline').map(e => e.innerText)"""
    )
    assert cut == []


@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_why_a_step_may_not_start_yet_is_told_before_the_tap_and_whole(
    open_at: OpenAt, served: Served, width: int, height: int, first: bool
) -> None:
    view = canned_trouble.followed_station()
    served.gateway.show(view if first else view.model_copy(update={"in_hand": view.in_hand[::-1]}))
    page = open_at(width=width, height=height)
    says = page.locator(".job .say-why")
    expect(says).to_contain_text("start from 09:46 on")
    expect(says).to_contain_text("must follow by 10:26")
    assert not says.evaluate(CUT)
    assert not page.locator(".job", has=page.locator(".say-why")).locator(".heed").evaluate(CUT)
    button = page.locator(".job", has=page.locator(".say-why")).get_by_role("button", name="Start")
    box, column = button.bounding_box(), page.locator(".job", has=page.locator(".say-why")).bounding_box()
    assert box is not None
    assert column is not None
    assert box["y"] + box["height"] <= column["y"] + column["height"]


@pytest.mark.parametrize("beside", [(), (canned.LATE_ZEST,), (canned.WARM_FREEZER, canned.LATE_ZEST)])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_what_a_stopped_machine_means_is_told_whole_in_the_sill(
    open_at: OpenAt, served: Served, width: int, height: int, beside: tuple[Alarm, ...]
) -> None:
    served.gateway.show(canned.busy_station(alarms=(canned_trouble.STOPPED_CHURN, *beside)))
    page = open_at(width=width, height=height)
    text = page.locator(".alarm p").first
    for fact in ("Machine stopped: Churn", "Taken to be back 11:05", "Back by Fri 10:22", "Use another machine"):
        expect(text).to_contain_text(fact)
    assert not text.evaluate(CUT)
    assert not text.locator("b").evaluate(CUT)
    if width > 700:
        sill, hand = page.locator(".sill").bounding_box(), page.locator(".hand").bounding_box()
        box = text.bounding_box()
        assert sill is not None
        assert hand is not None
        assert box is not None
        assert box["y"] >= sill["y"]
        assert box["y"] + box["height"] <= hand["y"]
    left_out = page.locator(".sill .more")
    if "belt slips" not in text.inner_text():  # whole facts that have no room are a tap away, and counted or named
        expect(left_out).to_be_visible()


FOUR = (
    "Hot steam: lift the lid away from you",
    "Hot sugar and milk burn: dry gloves",
    "Pan over 8 kg: two people lift it",
    "Wet floor by the ice bath",
)


@pytest.mark.parametrize("task", [canned.COOK, canned.BAKE])
@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_four_cautions_are_all_read_and_move_no_button_out_of_its_column(
    open_at: OpenAt, served: Served, width: int, height: int, first: bool, task: TaskView
) -> None:
    careful = task.model_copy(update={"cautions": FOUR})
    other = canned.task("C9.mix", "Mix", status="in hand", started_at=canned.later(-3), planned_end=canned.later(9))
    served.gateway.show(canned.busy_station(in_hand=(careful, other) if first else (other, careful)))
    page = open_at(width=width, height=height)
    linked(page, served)
    heed = page.locator(".job .heed").nth(0 if first else 1)
    for caution in FOUR:
        expect(heed).to_contain_text(caution)
    assert not heed.evaluate(CUT)
    if width > 700:
        heed_box = heed.bounding_box()
        actions = page.locator(".job .actions").nth(0 if first else 1).bounding_box()
        hand = page.locator(".hand").bounding_box()
        assert heed_box is not None
        assert actions is not None
        assert hand is not None
        assert heed_box["y"] + heed_box["height"] <= actions["y"]
        assert actions["y"] + actions["height"] <= hand["y"] + hand["height"] - 8


@pytest.mark.parametrize("verdict", [{"within_tolerance": True}, {"status": "will not be met in time"}])
@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_verdict_and_time_of_arrival_are_read_whole_in_either_column(
    open_at: OpenAt, served: Served, width: int, height: int, first: bool, verdict: dict[str, object]
) -> None:
    view = canned_trouble.judged_station(margin_degrees=-12.3, **{"status": "met", **verdict})
    served.gateway.show(view if first else view.model_copy(update={"in_hand": view.in_hand[::-1]}))
    page = open_at(width=width, height=height)
    linked(page, served)
    limit = page.locator(".limit")
    expect(limit).to_be_visible()
    column = page.locator(".job", has=page.locator(".limit"))
    expect(column.locator(".arrival")).to_contain_text("4–6")
    line, room = limit.bounding_box(), column.bounding_box()
    assert line is not None
    assert room is not None
    assert line["x"] + line["width"] <= room["x"] + room["width"] - 12
    assert not column.locator(".arrival").evaluate(CUT)


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_long_titles_are_read_whole_on_the_horizon_and_on_the_tasks_page(
    open_at: OpenAt, served: Served, width: int, height: int
) -> None:
    title = "Temper the hazelnut custard for Market stall, Saturday"
    cook = canned.COOK.model_copy(update={"title": title})
    served.gateway.show(
        canned.busy_station(in_hand=(cook,), next_here=(canned.CHURN.model_copy(update={"title": title}),))
    )
    page = open_at(width=width, height=height)
    linked(page, served)
    name = page.locator(".row-name b", has_text="Temper").first
    assert not name.evaluate(CUT)
    row, cell = page.locator(".row", has=page.locator(".row-name b.long")).first.bounding_box(), name.bounding_box()
    assert row is not None
    assert cell is not None
    assert cell["y"] >= row["y"] - 1
    page.goto(f"{served.url}/task/C2.cook")
    whole = page.locator(".whole-title")
    expect(whole).to_be_visible()
    assert not whole.evaluate(CUT)


def test_phone_shows_the_first_tasks_actions_on_its_first_screen(open_at: OpenAt) -> None:
    page = open_at(width=390, height=844)
    box = page.get_by_role("link", name="Report problem").first.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= 844


def test_station_works_without_a_script(open_at: OpenAt, served: Served) -> None:
    page = open_at(scripts=False)
    page.get_by_role("button", name="Finish tray").click()
    expect(page.locator(".message")).to_contain_text("Tray counted")
    expect(page.locator(".arrival .figure-2").nth(1)).to_have_text("36")
    page.get_by_role("link", name="Who is here?").click()
    page.get_by_role("button", name="Early cook").click()
    expect(page.get_by_role("link", name="Early cook")).to_be_visible()
    page.goto(served.url + "/task/B2.blend")
    page.get_by_role("button", name="Start", exact=True).click()
    expect(page.locator(".job h2 a").first).to_have_text("Blend basil into custard")
    command = served.gateway.submitted[-1]
    assert isinstance(command, StartTask)
    assert (command.person, command.task) == ("early-cook", "B2.blend")
