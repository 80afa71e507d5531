"""Some hours with some screens in every test run; a week with two hundred by the command (`__main__`)."""

from datetime import timedelta
from pathlib import Path

import pytest

from display.hub import Stream
from display.reader import Reader
from tests.simulation.week.life import live
from tests.simulation.week.screens import Screen, Screens


def test_screen_left_behind_or_shown_something_else_is_found() -> None:
    alike = [Screen(Stream(Reader(), ("board",)), {"": {"seq": 7}, "board": {"html": "one"}}) for _ in range(3)]
    screens = Screens(alike)
    assert (screens.behind(7), screens.differing(), screens.crowded()) == (0, [], 0)
    alike[1].shows = {"": {"seq": 6}, "board": {"html": "two"}}
    alike[2].most_waiting = 3
    assert (screens.behind(7), screens.differing(), screens.crowded()) == (1, ["board"], 1)


@pytest.mark.slow
def test_screens_all_show_the_same_and_the_latest_while_a_kitchen_works(tmp_path: Path) -> None:
    counted = live(tmp_path / "data", span=timedelta(hours=4), screens=24)
    assert counted["events"] > 10
    assert counted["pieces sent to screens"] > 24 * 10
