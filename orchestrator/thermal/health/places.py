"""What is expected of a probe by its place and the step in hand; figures of ours, and common practice."""

from functools import lru_cache
from typing import Final

from orchestrator.thermal.health.signs import Expected

COLDEST_C: Final = -60.0
WARMEST_STORE_C: Final = 45.0
"""A store that has failed in a hot kitchen is no warmer."""
STORE_PER_MIN: Final = 20.0
"""Air of a store with its door thrown open."""
SUGAR_C: Final = 200.0
"""Caramel, the hottest that a pan holds."""
OVER_BOILING_C: Final = 12.0
"""Sugar and salt raise the boiling point of a mix; a custard or puree goes no higher while water remains."""
NEAR_C: Final = 5.0
RISING_C: Final = 10.0
"""So near its target food may stand still: an open pan loses what the hob gives."""
PLATEAU_C: Final = (-4.0, 1.0)
"""Where what freezes or thaws stands still."""


def store_air(low_c: float | None, high_c: float) -> Expected:
    """Air of a store that is kept between two temperatures; no lower one: the colder the better."""
    least = high_c - 30.0 if low_c is None else low_c
    return Expected(
        low=max(COLDEST_C, least - 25.0),
        high=WARMEST_STORE_C,
        usual_low=least,
        usual_high=high_c,
        fastest_per_min=STORE_PER_MIN,
        cycles=True,
    )


def idle_food() -> Expected:
    """A probe for food, with no step in hand: it may lie anywhere."""
    return Expected(low=COLDEST_C, high=SUGAR_C)


def warming_food(celsius: float, target_c: float, boiling_c: float) -> Expected:
    """Food on a fire, by what it reads now and what it is to reach, °C."""
    far = celsius < min(target_c, boiling_c) - RISING_C
    return _warming(target_c, boiling_c, far, far and not PLATEAU_C[0] <= celsius <= PLATEAU_C[1])


@lru_cache(maxsize=256)
def _warming(target_c: float, boiling_c: float, far: bool, moving: bool) -> Expected:
    watery = target_c <= boiling_c + NEAR_C
    return Expected(
        low=-40.0,
        high=boiling_c + OVER_BOILING_C if watery else SUGAR_C,
        usual_low=NEAR_C,
        usual_high=boiling_c + OVER_BOILING_C,
        moving=moving,
        trend=1 if far else 0,
    )


def cooling_food(celsius: float, target_c: float, boiling_c: float) -> Expected:
    """Food that is cooled, chilled or frozen."""
    far = celsius > target_c + NEAR_C
    return _cooling(target_c, boiling_c, far, far and not PLATEAU_C[0] <= celsius <= PLATEAU_C[1])


@lru_cache(maxsize=256)
def _cooling(target_c: float, boiling_c: float, far: bool, moving: bool) -> Expected:
    return Expected(
        low=COLDEST_C,
        high=boiling_c + OVER_BOILING_C,
        usual_low=min(target_c, 0.0) - NEAR_C,
        usual_high=boiling_c + OVER_BOILING_C,
        moving=moving,
        trend=-1 if far else 0,
    )
