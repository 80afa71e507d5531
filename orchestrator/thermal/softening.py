"""How warm frozen food in a failing freezer can be at most, reckoned from the air alone.

The core follows the air with a lag: dT/dt = (T_air - T) / tau (Newton's law of cooling). Ice that melts on the way only
slows it down, so a short lag without melting gives a bound from above: the food is no warmer than that. From below the
air alone bounds nothing useful: a large, full freezer stays cold for hours.
"""

from math import exp
from typing import Final

QUICKEST_MIN: Final = 30.0
"""Lag of the quickest food we reckon with: one tub of a litre, alone, in moving air, without the melting of its ice.
From 550 kg/m3, 3 kJ/(kg K), 20 W/(m2 K) and 56 m2 of surface a m3 of such a tub: 25 min, rounded up to the half hour.
Figures of ours for a thin-walled plastic tub; no published source is known to us. Smaller portions warm sooner."""


def core_at_most(start_c: float, air_c: float, minutes: float, lag_min: float = QUICKEST_MIN) -> float:
    """How warm the core can be after a time in air of one temperature.

    Args:
        start_c: Core at the beginning, or the most that it can have been, °C.
        air_c: Warmest air meanwhile, °C.
        minutes: Since then; negative counts as none.
        lag_min: Time constant, minutes, above 0.

    Returns:
        °C; the start itself where the air is colder, because food that cools is no warmer than it was.

    Raises:
        ValueError: the lag is not above 0.

    Source: Newton's law of cooling, T = T_air + (T_0 - T_air) exp(-t / tau).
    """
    if lag_min <= 0:
        raise ValueError(f"a lag of {lag_min} min is none: give one above 0")
    if air_c <= start_c:
        return start_c
    return air_c + (start_c - air_c) * exp(-max(minutes, 0.0) / lag_min)
