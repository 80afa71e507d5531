"""Freezing point and ice of a mix, over whole curves at once."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from orchestrator.thermal.freezing import sucrose_freezing_point_c
from orchestrator.thermal.mix import FIGURES, SALTS_K, UNKNOWN, WATER, Parts, Range

_SHARES: Final = np.concatenate([np.linspace(0.0, 0.85, 171), np.linspace(0.852, 0.93, 40)])
"""Shares of the water frozen; beyond these the equations do not carry."""
_MOST_SUCROSE: Final = 84.0
"""Mass per cent, where Norrish's equation is left."""


@dataclass(frozen=True, slots=True)
class Depression:
    """What keeps a mix from freezing."""

    sugar_g_per_100g_water: float
    salts_c: float
    """By what depresses in proportion (salts, alcohol), before anything is frozen, K."""


def depressions(parts: Parts) -> tuple[Depression, Depression] | None:
    """At its least and at its most, as to what is unknown; nothing without water."""
    water, unknown = float(parts[WATER]), float(parts[UNKNOWN])
    if water <= 1e-9:
        return None
    sugar, salts = FIGURES["sucrose_equivalent"].of(parts), float(SALTS_K @ parts)
    return (
        Depression(sugar.low, salts / (water + unknown)),
        Depression(sugar.high, salts / water),
    )


def freezing_point_c(depression: Depression, frozen: float = 0.0) -> float:
    """Of what is left liquid, °C.

    Source: Leighton, J. Dairy Sci. 10:300, 1927, as Goff (University of Guelph) works it out.
    """
    left = 1.0 - frozen
    return float(_sucrose(depression.sugar_g_per_100g_water / left)) - depression.salts_c / left


def freezing_range_c(parts: Parts) -> Range | None:
    """Between which temperatures the mix begins to freeze; nothing without water."""
    found = depressions(parts)
    return None if found is None else Range(freezing_point_c(found[1]), freezing_point_c(found[0]))


def frozen_water(depression: Depression, celsius: NDArray[np.float64] | float) -> NDArray[np.float64]:
    """Share of the water that is ice at each temperature, from 0 to 0.93."""
    left = 1.0 - _SHARES
    curve = _sucrose(depression.sugar_g_per_100g_water / left) - depression.salts_c / left
    wanted = np.asarray(celsius, dtype=float)
    found = np.interp(-wanted, -curve, _SHARES)
    return np.where(wanted >= curve[0], 0.0, found)


def frozen_range(parts: Parts, celsius: float) -> Range | None:
    """Share of the water that is ice at one temperature; nothing without water."""
    found = depressions(parts)
    if found is None:
        return None
    low, high = float(frozen_water(found[1], celsius)), float(frozen_water(found[0], celsius))
    return Range(min(low, high), max(low, high))


def _sucrose(g_per_100g_water: NDArray[np.float64] | float) -> NDArray[np.float64]:
    """Freezing points of sucrose in water, °C."""
    grams = np.asarray(g_per_100g_water, dtype=float)
    percents, points = _table()
    return np.interp(100.0 * grams / (100.0 + grams), percents, points)


@lru_cache(maxsize=1)
def _table() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Freezing points at every fifth of a per cent: a line between them is within 0.001 K below 70 %."""
    percents = np.linspace(0.0, _MOST_SUCROSE, int(_MOST_SUCROSE * 5) + 1)
    return percents, np.array([sucrose_freezing_point_c(float(percent)) for percent in percents])


def ice_curve(parts: Parts, coldest_c: float, steps: int) -> tuple[tuple[float, float, float], ...]:
    """From 0 °C down: temperature, and the least and the most share of the water that is ice; empty without water."""
    found = depressions(parts)
    if found is None:
        return ()
    celsius = np.linspace(0.0, coldest_c, steps + 1)
    one, other = frozen_water(found[1], celsius), frozen_water(found[0], celsius)
    low, high = np.minimum(one, other), np.maximum(one, other)
    return tuple(zip(celsius.tolist(), low.tolist(), high.tolist(), strict=True))
