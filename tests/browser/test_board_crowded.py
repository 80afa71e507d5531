"""The board by people on days full of short steps: what is told of them can be read, and each is reached."""

from collections.abc import Iterable, Iterator
from itertools import pairwise

import pytest
from playwright.sync_api import Page

from display.views import CoreViews
from orchestrator.core.views.board_models import BlockView, BoardView
from orchestrator.gateway.door import Snapshot
from tests.browser.conftest import Served, Windows
from tests.browser.full_house import full_house

pytestmark = pytest.mark.browser

FLAGS = ("tight", "at risk", "late", "tight", "moved")


class Hurried(CoreViews):
    """Nearly every step of the plan is in trouble."""

    def board(self, snapshot: Snapshot) -> BoardView:
        """The true one, with flags."""
        found = super().board(snapshot)
        rows = tuple(row.model_copy(update={"blocks": _flagged(row.blocks)}) for row in found.rows)
        return found.model_copy(update={"rows": rows, "unplaced": _flagged(found.unplaced)})


def _flagged(blocks: Iterable[BlockView]) -> tuple[BlockView, ...]:
    return tuple(
        block.model_copy(update={"flag": FLAGS[number % len(FLAGS)], "latest_start": block.start})
        for number, block in enumerate(blocks)
    )


@pytest.fixture(scope="module")
def hurried() -> Iterator[Served]:
    served = Served(full_house(), Hurried())
    yield served
    served.stop()


def boxes(page: Page, selector: str) -> list[tuple[float, float, float, float]]:
    """Left, top, right and bottom of each."""
    found = page.evaluate(
        """selector => [...document.querySelectorAll(selector)].map(e => e.getBoundingClientRect())
        .map(b => [b.left, b.top, b.right, b.bottom])""",
        selector,
    )
    return [tuple(box) for box in found]


@pytest.mark.parametrize(
    ("language", "width", "height", "span"),
    [("en", 1280, 800, ""), ("es", 1920, 1080, ""), ("es", 1280, 800, "&span=day&from=2026-11-27T00:00")],
)
def test_flags_of_a_busy_day_lie_over_nothing_and_every_step_is_reached_by_keys(
    windows: Windows, hurried: Served, language: str, width: int, height: int, span: str
) -> None:
    cookies = {"person": "manager", "language": language}
    page = windows.open(f"{hurried.url}/board?by=crew{span}", width, height, cookies=cookies)
    notes = sorted(boxes(page, ".plan-crew .note"), key=lambda box: (round(box[1]), box[0]))
    assert len(notes) > 1
    for note, after in pairwise(notes):
        assert after[1] > note[1] + 5 or after[0] >= note[2]  # another row, or right of it
    assert all(right <= width for _, _, right, _ in notes)
    steps = boxes(page, ".plan-crew .piece .box")
    under = [note for note in notes for step in steps if _overlap(note, step)]
    assert under == []
    links = page.locator(".plan-crew .piece")
    links.first.focus()
    reached = 0
    while inside := page.evaluate("document.activeElement.closest('.plan-crew') !== null"):
        reached += page.evaluate("document.activeElement.matches('.piece')")
        page.keyboard.press("Tab")
    assert (inside, reached) == (False, links.count())


def _overlap(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """By more than the two pixels that a font's box reaches beyond its letters."""
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return across > 0 and down > 2
