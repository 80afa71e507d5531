"""A few kitchens in every test run; ten thousand by the command (`__main__`). Seeds that failed once are all tried."""

from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from tests.simulation.faulty.kitchens import CHANGES, kitchen_of
from tests.simulation.faulty.seeds import failed_before, live, tried

FEW = (12, 14)


@pytest.mark.parametrize("seed", FEW)
def test_kitchen_with_faults_keeps_every_invariant(seed: int) -> None:
    lived = live(seed)
    assert lived.counted["steps"] > 100
    assert lived.counted["acknowledged"] > 5


@pytest.mark.parametrize(("seed", "how"), failed_before())
def test_seed_that_failed_once_holds(seed: int, how: dict[str, Any]) -> None:
    assert tried(seed, **how).fault == ""


def test_day_on_which_clocks_change_keeps_every_invariant() -> None:
    lived = live(2, change=True)
    assert lived.counted["acknowledged"] > 5


@pytest.mark.parametrize(("zone", "day"), CHANGES)
def test_clocks_of_these_zones_do_change_in_that_night(zone: str, day: object) -> None:
    """Source: IANA time zone database, by `tzdata`; a kitchen there lives through that night."""
    evening = datetime.fromisoformat(f"{day}T12:00").replace(tzinfo=ZoneInfo(zone))
    assert evening.utcoffset() != (evening + timedelta(days=1)).utcoffset()


def test_shifted_kitchen_begins_on_the_day_before_the_change() -> None:
    kitchen = kitchen_of(2, change=True)
    begins = kitchen.planning_start.astimezone(ZoneInfo(kitchen.time_zone))
    assert (kitchen.time_zone, begins.date()) in CHANGES
