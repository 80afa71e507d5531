"""Labels in a real browser: from the list of lots to the sheet of labels, whose codes another library reads back."""

from collections.abc import Iterator
from pathlib import Path

import biip
import pytest
from playwright.sync_api import Browser

from display.views import CoreViews
from tests.browser.conftest import Served
from tests.display.papers.pdf import codes, words
from tests.display.papers.test_labels import gateway

pytestmark = pytest.mark.browser


@pytest.fixture
def real() -> Iterator[Served]:
    """The small kitchen with core's own rules; B1 is in the freezer."""
    server = Served(gateway(gtin="6291041500213"), CoreViews())
    yield server
    server.stop()


def test_label_is_printed_from_the_list_of_lots_and_read_back(browser: Browser, real: Served, tmp_path: Path) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, accept_downloads=True)
    page = context.new_page()
    page.goto(real.url + "/lots")
    page.locator('a[href="/labels/B1"]').first.click()
    page.get_by_label("Sheet of labels").select_option("a4-2x7")
    page.get_by_label("First free place").fill("4")
    page.get_by_label("How many labels").fill("3")
    page.get_by_label("Net quantity").fill("480 g")
    with page.expect_download() as coming:
        page.get_by_role("button", name="Labels as PDF").click()
    target = tmp_path / "labels.pdf"
    coming.value.save_as(target)
    context.close()
    pdf = target.read_bytes()
    assert "Contains: MILK, EGG" in words(pdf)
    (found,) = codes(pdf)
    assert len(found) == 3
    message = biip.parse(f"{found[0].symbology}{found[0].text}").gs1_message
    assert message is not None
    read = {one.ai.ai: one.value for one in message.element_strings}
    assert (read["01"], read["10"], read["3103"]) == ("06291041500213", "B1", "000480")
    # The fourth place of two columns: second row, on the right.
    assert found[0].left_mm > 105
    assert 15.15 + 38.1 < found[0].top_mm < 15.15 + 2 * 38.1
