"""Whoever waits for what helps sees how far it is, and nothing that can be tapped moves meanwhile."""

from collections.abc import Callable

import pytest

from tests.browser.conftest import Open
from tests.display.test_helping import SlowGateway, far

PATH = "/orders/SAT-STALL/help"


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080), (390, 844)])
def test_progress_of_what_helps_changes_and_nothing_that_can_be_tapped_moves(
    open_over: Callable[[SlowGateway], Open], size: tuple[int, int]
) -> None:
    gateway = SlowGateway()
    page = open_over(gateway)(PATH, "manager", *size)
    stages = [far("conflict", 0, 0), far("conflict", 140, 123), far("remedies", 3, 16)]
    seen: list[tuple[str, list[tuple[str, object]]]] = []
    for stage in (None, *stages):
        if stage is not None and gateway.heard is not None:
            gateway.heard(stage)
            page.goto(page.url)
        status = page.locator("main [role=status]").inner_text()
        targets = page.locator("a:visible, button:visible").all()
        seen.append((status, [(one.inner_text(), one.bounding_box()) for one in targets]))
    gateway.let.set()

    assert len({status for status, _ in seen}) == len(seen)
    assert "140 plans tried" in seen[2][0]
    assert all(targets == seen[0][1] for _, targets in seen)
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= size[0]
