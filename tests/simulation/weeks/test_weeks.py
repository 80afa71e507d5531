"""Two weeks of a chance kitchen in every test run; more kitchens for longer by the command (`__main__`)."""

import pytest

from tests.simulation.weeks.life import live


@pytest.mark.slow
def test_kitchen_works_on_by_one_record_beyond_the_days_it_began_with() -> None:
    counted = live(2, weeks=2)
    assert counted["moves of the days"] >= 2
    assert counted["plans that held, and held on"] >= 1
    assert counted["orders that left it"] > 0
    assert counted["tasks that left it"] > 0
    assert counted["orders in the kitchen at last"] > 0
    assert counted["tasks in the plan at most"] < counted["tasks that left it"] + counted["tasks in the plan at last"]
