"""Where the walk through the rest stopped: a late figure over its amount, a cut count, names cut on the board."""

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Open, OpenAt, Served
from tests.browser.full_house import full_house
from tests.fakes import canned
from tests.fakes.kitchen_gateway import KitchenGateway

pytestmark = pytest.mark.browser


def test_step_hours_late_in_the_narrow_column_leaves_room_for_its_amount_and_the_count_of_the_others(
    open_at: OpenAt, served: Served
) -> None:
    late = canned.task(
        "M2.weigh",
        "Wash and weigh the damsons",
        status="in hand",
        start=-60 * 17 - 55,
        recipe_name="Damson puree",
        amounts=canned.COOK.amounts,
        method=("Wash the fruit and discard soft ones, then drain them well.",),
    )
    served.gateway.show(canned.busy_station(in_hand=(canned.COOK, late)))
    page = open_at()
    job = page.locator(".job").nth(1)
    expect(job.locator(".figure")).to_contain_text("+17")
    right = job.evaluate("e => e.getBoundingClientRect().right")
    for part in (".arrival", ".more-amounts"):
        box = job.locator(part).bounding_box()
        assert box is not None
        assert box["x"] + box["width"] <= right
    more = job.locator(".more-amounts")
    assert more.evaluate("e => e.parentElement.scrollWidth <= e.parentElement.clientWidth")


@pytest.mark.parametrize("by", ["batch", "order"])
def test_names_in_the_left_column_are_whole_on_a_large_screen_in_spanish(
    open_over: Callable[[KitchenGateway], Open], by: str
) -> None:
    page = open_over(full_house())(f"/board?by={by}", width=1920, height=1080)
    page.context.add_cookies([{"name": "language", "value": "es", "url": page.url}])
    page.reload()
    names = page.locator(".row-group h2 a")
    assert names.count() > 5
    cut = [name.inner_text() for name in names.all() if name.evaluate("e => e.scrollWidth > e.clientWidth")]
    assert cut == []
