"""A pan on a ring as a balance of heat: what the ring gives is even, what the pan loses rises with its warmth.

Of what a pan near 80 °C loses most is carried away by steam, and that rises as steeply as the pressure of water vapour:
so a pan heats nearly straight for long, and bends late. How much of the ring's heat is lost at the end is unknown (lid,
width of the pan, strength of the ring): there is one hypothesis for each of several shares. What thickens (egg, starch)
passes heat on more slowly near the end, which looks like a greater loss.
"""

from functools import lru_cache
from typing import Final

import numpy as np

from orchestrator.thermal.estimates.bank import Array, Bank

_ROOM_C: Final = 22.0
_HUMID: Final = 0.5
"""Relative humidity of a kitchen; it hardly counts."""
_AT_C: Final = 82.0
"""The shares are those of what is lost here."""
BY_STEAM: Final = 0.7
"""Of the losses at 82 °C. An open surface in still air loses about five times as much by steam as by air and radiation
(Lewis relation, with 11 W/(m² K) for both); walls lose by air alone, and a lid half on keeps most of the steam."""
_DEAD: Final = 0.03
"""Of the rate without losses: slower than this it comes to rest."""
_GRID: Final = (-10.0, 101.0, 0.1)


def vapour_hpa(celsius: Array) -> Array:
    """Pressure of saturated water vapour over water, in hPa.

    Source: Magnus formula as in WMO-No. 8, Guide to Instruments and Methods of Observation (from memory); up to 100 °C
    within 3 % of steam tables, which is enough for a share.
    """
    pressure: Array = 6.112 * np.exp(17.62 * celsius / (243.12 + celsius))
    return pressure


def losses(celsius: Array) -> Array:
    """What a pan loses at each temperature, as a share of what it loses at 82 °C; below the room's warmth it gains."""
    air = (celsius - _ROOM_C) / (_AT_C - _ROOM_C)
    dry = _HUMID * vapour_hpa(np.array(_ROOM_C))
    steam = (vapour_hpa(np.minimum(celsius, 100.0)) - dry) / (vapour_hpa(np.array(_AT_C)) - dry)
    shares: Array = (1.0 - BY_STEAM) * air + BY_STEAM * steam
    return shares


@lru_cache(maxsize=8)
def heating_bank(lost: tuple[float, ...]) -> Bank:
    """Tables of the pan's own clock, in degrees that it would have gained without losses.

    Args:
        lost: What may be lost at 82 °C, as shares of what the ring gives; all alike likely.
    """
    low, high, step = _GRID
    at: Array = low + step * np.arange(round((high - low) / step) + 1, dtype=np.float64)
    by_degree = losses(at[:-1] + step / 2.0)
    tables, highest = [], []
    for share in lost:
        rate = 1.0 - share * by_degree
        rests = np.flatnonzero(rate <= _DEAD)
        first = int(rests[0]) if len(rests) else len(rate)
        lasts = np.where(np.arange(len(rate)) < first, step / np.maximum(rate, _DEAD), 0.0)
        tables.append(np.concatenate([[0.0], np.cumsum(lasts)]))
        highest.append(high if first == len(rate) else float(at[max(first - 2, 1)]))
    tau = np.ascontiguousarray(np.array(tables).T)
    rise = np.diff(tau, axis=0)
    many = len(lost)
    return Bank(
        low=low,
        step=step,
        tau=tau,
        rise=rise,
        weight=1.0 / np.maximum((rise / step) ** 2, 1e-18),
        log_chance=np.full(many, -np.log(many)),
        lowest=np.full(many, low),
        highest=np.array(highest),
        low_for_all=low,
        high_for_all=min(highest),
    )
