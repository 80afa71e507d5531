"""Steps one at a time, ticks between screens, two taps, questions about what was typed, and two cooks at once."""

import pytest
from playwright.sync_api import expect

from orchestrator.core.commands import ExtendTask, FinishTask, FinishTray, ReportProblem
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.models import Measure
from tests.browser.conftest import OpenAt, Served, ready, until
from tests.fakes import canned

pytestmark = pytest.mark.browser

SIZES = [(1280, 800), (1920, 1080), (390, 844)]
LONG = (
    "Weigh the sugar and the stabiliser together and mix them dry, so that no lumps form when they meet the milk.",
    "Warm the milk to 45 °C.",
    "Rain the dry mix into the milk while stirring, then go on to 82 °C without a pause and hold for a minute.",
)


@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_method_is_read_one_whole_step_at_a_time(
    open_at: OpenAt, served: Served, width: int, height: int, first: bool
) -> None:
    cook = canned.COOK.model_copy(update={"method": LONG})
    served.gateway.show(canned.busy_station(in_hand=(cook, canned.BAKE) if first else (canned.BAKE, cook)))
    page = ready(open_at(width=width, height=height))
    job = page.locator(".job[data-task='C2.cook']")
    column, actions = job.bounding_box(), job.locator(".actions").bounding_box()
    assert column is not None
    assert actions is not None
    on, back = job.get_by_role("button", name="Next step"), job.get_by_role("button", name="One step back")
    expect(job.get_by_text("Whole milk")).to_be_visible()
    if width < 700:  # the amounts have the whole line there: a tap on the text opens the method
        expect(job.locator(".more-amounts")).to_have_accessible_name("and 3 more")
        job.locator(".do .line").first.click()
        sheet = page.locator("#choose-step")
        expect(sheet).to_contain_text(f"1 of 3: {LONG[0]}")
        for button in ("Next step", "One step back"):
            sheet.get_by_role("button", name=button).click()
        page.keyboard.press("Escape")
        expect(job.locator(".steps li:not([hidden])")).to_contain_text(LONG[0])
    for number, line in enumerate(LONG, start=1):
        if width > 700 or number > 1:
            on.click()
        step = job.locator(".steps li:not([hidden])")
        expect(step).to_have_text(f"{number} of 3: {line}")
        assert step.evaluate("e => e.scrollWidth <= e.clientWidth + 1")
        whole = job.locator(".steps").evaluate("e => e.scrollHeight - e.clientHeight <= 1")
        assert whole or (width == 1280 and not first)  # beside three lines of cautions: a tap shows it large
        if not whole:
            step.click()
            large = page.locator("[data-step-large]")
            expect(large).to_have_text(f"{number} of 3: {line}")
            assert page.locator("#choose-step").evaluate("e => e.scrollHeight - e.clientHeight <= 1")
            page.keyboard.press("Escape")
        for target in (on, back):
            box = target.bounding_box()
            assert box is not None
            assert min(box["height"], box["width"]) >= 48
            assert box["x"] + box["width"] <= column["x"] + column["width"]
        if width > 700:
            assert job.locator(".actions").bounding_box() == actions
    expect(on).to_be_disabled()
    back.click()
    expect(job.locator(".steps li:not([hidden])")).to_contain_text("Warm the milk")
    served.gateway.show(served.gateway.view.model_copy(update={"plan_revision": 9, "alarms": (canned.LATE_ZEST,)}))
    expect(page.locator(".alarm-seen")).to_be_visible()
    expect(job.locator(".steps li:not([hidden])")).to_contain_text("Warm the milk")
    page.reload()
    expect(job.locator(".steps li:not([hidden])")).to_contain_text("Warm the milk")


def test_ticks_are_shared_between_screens_and_stay_through_renewal_and_reload(open_at: OpenAt, served: Served) -> None:
    mine, theirs = ready(open_at(width=1920, height=1080)), ready(open_at(width=1920, height=1080))
    mine.locator(".amount", has_text="Whole milk").click()
    expect(theirs.locator("[data-name='Whole milk']")).to_be_checked()
    theirs.locator(".amount", has_text="Sugar").click()
    expect(mine.locator(".weighed")).to_contain_text("2 weighed: Whole milk, Sugar")
    mine.reload()
    expect(mine.locator(".weighed")).to_contain_text("2 weighed: Whole milk, Sugar")
    mine.locator(".weighed").click()
    expect(theirs.locator("[data-name='Sugar']")).not_to_be_checked()
    expect(theirs.locator("[data-name='Whole milk']")).to_be_checked()


def test_needs_longer_and_problem_take_two_taps_and_leave_the_page_where_it_is(open_at: OpenAt, served: Served) -> None:
    page = ready(open_at())
    page.get_by_role("link", name="Add time").first.click()
    page.get_by_role("button", name="Add 15 min").click()
    expect(page.locator(".message.done")).to_contain_text("Time added")
    page.get_by_role("link", name="Report problem").nth(1).click()
    expect(page.locator("#choose-problem h2")).to_contain_text("Bake cones")
    page.get_by_role("button", name="Machine").click()
    expect(page.locator(".message.done")).to_contain_text("Problem reported")
    extend, problem = served.gateway.submitted
    assert isinstance(extend, ExtendTask)
    assert isinstance(problem, ReportProblem)
    assert (extend.task, extend.minutes) == ("C2.cook", 15)
    assert (problem.task, problem.what, problem.hold_lot) == ("W1.bake", "machine", False)
    assert page.url.endswith("/station/stove")
    assert extend.tapped_at is not None
    assert len({extend.command_id, problem.command_id}) == 2


@pytest.mark.parametrize("which", ["add-time", "problem", "finish"])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_choices_are_large_enough_and_apart(
    open_at: OpenAt, served: Served, width: int, height: int, which: str
) -> None:
    page = ready(open_at(width=width, height=height))
    page.locator(f".job [data-choose={which}]").first.click()
    sheet = page.locator(f"#choose-{which}")
    boxes = [box for one in sheet.locator("button").all() if (box := one.bounding_box()) is not None]
    assert len(boxes) >= 2
    for box in boxes:
        assert box["height"] >= 64
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width
    for one in boxes:
        for other in boxes:
            apart = max(other["x"] - one["x"] - one["width"], other["y"] - one["y"] - one["height"])
            back = max(one["x"] - other["x"] - other["width"], one["y"] - other["y"] - other["height"])
            assert one is other or max(apart, back) >= 16
    page.keyboard.press("Escape")
    expect(sheet).to_be_hidden()


def test_measured_value_that_hardly_can_be_is_asked_about_and_nothing_typed_is_lost(
    open_at: OpenAt, served: Served
) -> None:
    page = ready(open_at())
    page.locator(".job [data-choose=finish]").first.click()
    expect(page.locator("#choose-finish [data-measure-label]")).to_have_text("Volume in L (expected 5 L)")
    page.locator("#choose-finish [name=measured]").fill("4800")
    served.gateway.answer = Refusal(
        code=RefusalCode.DOUBTFUL, thing="C2.cook", status="4800 L does not fit", remedy="look again", meant=4.8
    )
    page.locator("#choose-finish").get_by_role("button", name="Finish step").click()
    expect(page.locator(".message")).to_contain_text("Is that so? 4800 L does not fit.")
    page.locator(".job [data-choose=finish]").first.click()
    expect(page.locator("#choose-finish [name=measured]")).to_have_value("4800")
    page.keyboard.press("Escape")
    served.gateway.answer = None
    page.get_by_role("button", name="It says 4800 mL: 4.8 L").click()
    expect(page.locator(".message.done")).to_contain_text("Done")
    command = served.gateway.submitted[-1]
    assert isinstance(command, FinishTask)
    assert (command.measured, command.sure) == ({Measure.VOLUME_L: 4.8}, True)


def test_half_typed_value_and_the_open_sheet_outlast_a_renewal(open_at: OpenAt, served: Served) -> None:
    page = ready(open_at())
    page.locator(".job [data-choose=finish]").first.click()
    page.keyboard.type("4.")
    hotter = canned.COOK.model_copy(update={"temperature": canned.heating(celsius=78.0)})
    served.gateway.show(canned.busy_station(in_hand=(hotter, canned.BAKE)))
    expect(page.locator(".figure").first).to_contain_text("78.0")
    page.keyboard.type("8")
    expect(page.locator("#choose-finish [name=measured]")).to_have_value("4.8")


def test_cook_who_was_quicker_is_named_where_the_button_was_and_nothing_is_counted_twice(
    open_at: OpenAt, served: Served
) -> None:
    mine, theirs = ready(open_at()), ready(open_at())
    place = mine.get_by_role("button", name="Finish tray").bounding_box()
    assert place is not None
    theirs.get_by_role("button", name="Finish tray").click()
    sentence = mine.locator(".job .instead")
    expect(sentence).to_have_text("Early cook took tray 4 out at 09:42. Nothing is counted twice.")
    mine.mouse.click(place["x"] + 30, place["y"] + 30)  # a thumb on its way
    assert len(served.gateway.submitted) == 1
    expect(theirs.locator(".instead")).to_have_count(0)
    expect(sentence).to_have_count(0, timeout=8000)
    assert mine.get_by_role("button", name="Finish tray").bounding_box() == place
    mine.get_by_role("button", name="Finish tray").click()
    expect(theirs.locator("[data-made]")).to_have_text("45")
    trays = [one for one in served.gateway.submitted if isinstance(one, FinishTray)]
    assert [one.made_before for one in trays] == [27, 36]


def test_step_that_another_one_takes_the_place_of_is_not_tapped_by_a_thumb_on_its_way(
    open_at: OpenAt, served: Served
) -> None:
    page = ready(open_at())
    served.gateway.show(canned.busy_station(in_hand=(canned.BAKE,)))
    first = page.locator(".job").first
    expect(first.locator(".instead")).to_have_text(
        "Cook custard base to 82 °C has changed here just now. Look, then tap."
    )
    box = first.locator(".actions").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + 30, box["y"] + 30)
    assert served.gateway.submitted == []


def test_glove_that_rebounds_counts_one_tray(open_at: OpenAt, served: Served) -> None:
    page = ready(open_at())
    box = page.get_by_role("button", name="Finish tray").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + 30, box["y"] + 30)
    until(page, "() => document.querySelector('[data-made]').textContent === '36'")
    page.mouse.click(box["x"] + 30, box["y"] + 30)
    page.wait_for_timeout(900)
    assert len(served.gateway.submitted) == 1
    page.mouse.click(box["x"] + 30, box["y"] + 30)
    expect(page.locator("[data-made]")).to_have_text("45")


def test_buttons_that_turn_a_step_are_as_far_apart_as_all_for_wet_gloves(open_at: OpenAt, served: Served) -> None:
    served.gateway.show(canned.busy_station(in_hand=(canned.COOK.model_copy(update={"method": LONG}),)))
    turn = ready(open_at()).locator(".job[data-task='C2.cook'] .turn button")
    back, on = turn.first.bounding_box(), turn.last.bounding_box()
    assert back is not None
    assert on is not None
    assert on["x"] - back["x"] - back["width"] >= 15.5
