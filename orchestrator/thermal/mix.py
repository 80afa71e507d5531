"""What a mix is made of, as arrays of grams by kind, and the figures that follow.

An ingredient that no table holds stays in the sum as a kind of its own, ``unknown``: figures are then intervals, from
what they are if it is the one thing to what they are if it is the other.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Parts = NDArray[np.float64]
"""Grams (or grams in a gram) by kind, in the order of `KINDS`."""

ADD_UP: Final = (
    "water", "fat", "milk_solids_not_fat", "sucrose", "glucose", "fructose", "maltose", "mixed_sugars", "syrup_42de",
    "alcohol", "other_solids", "unknown",
)  # fmt: skip
"""Kinds that add up to the weight."""
OF_WHICH: Final = ("milk_fat", "lactose", "yolk_solids", "salt", "bulky")
"""Kinds that are part of others; ``bulky`` is the weight of bulky flavours."""
KINDS: Final = (*ADD_UP, *OF_WHICH)
WATER: Final = KINDS.index("water")
UNKNOWN: Final = KINDS.index("unknown")
_BULKY: Final = KINDS.index("bulky")
_WEIGHED: Final = len(ADD_UP)


def vector(values: Mapping[str, float]) -> Parts:
    """An array by kind. Raises: KeyError for a kind that there is not."""
    made = np.zeros(len(KINDS))
    for name, value in values.items():
        made[_INDEX[name]] = value
    return made


_INDEX: Final = {name: at for at, name in enumerate(KINDS)}

# Lactose 16, maltose 33, glucose 74, fructose 173 % of the sweetness of sucrose. Source: encyclopedia.com, "sweeteners"
# (a dictionary of food); ranges in the trade are wide (fructose 117 to 175 %). A syrup of 42 DE is put at half: common
# practice. Lactose counts here, though some leave it out.
SWEETNESS: Final = vector(
    {"sucrose": 1.0, "glucose": 0.74, "fructose": 1.73, "mixed_sugars": (0.74 + 1.73) / 2, "maltose": 0.33,
     "syrup_42de": 0.5, "lactose": 0.16}
)  # fmt: skip
# Source: Goff (University of Guelph), calculation of the freezing point of a mix: disaccharides 1, monosaccharides 1.9,
# syrup solids their dextrose equivalent in hundredths.
SUCROSE_EQUIVALENT: Final = vector(
    {
        "sucrose": 1.0,
        "maltose": 1.0,
        "lactose": 1.0,
        "glucose": 1.9,
        "fructose": 1.9,
        "mixed_sugars": 1.9,
        "syrup_42de": 0.42,
    }
)
# Kelvin for each gram in a gram of water, of what depresses in proportion: the salts in milk solids not fat 2.37 (Goff,
# after Leighton 1927); common salt and alcohol by their freezing points at 1 and 5 mass per cent, -0.593 and -2.09 °C
# (CRC Handbook, from memory).
SALTS_K: Final = vector({"milk_solids_not_fat": 2.37, "salt": 0.593 / (1 / 99), "alcohol": 2.09 / (5 / 95)})
# Litres for each kilogram. Source: University of Guelph, mix density: fat 1.07527, solids not fat 0.6329, water 1;
# alcohol by its density of 0.789 (from memory).
SPECIFIC_VOLUME: Final = vector(dict.fromkeys(ADD_UP, 0.6329) | {"fat": 1.07527, "water": 1.0, "alcohol": 1 / 0.789})
# kJ/(kg K) above freezing: water 4.187, fat 1.93, other solids 1.55. Source: after Choi and Okos, 1986 (from memory).
HEAT_CAPACITY: Final = vector(
    dict.fromkeys(ADD_UP, 1.55) | {"water": 4.187, "fat": 1.93, "alcohol": 2.4, "unknown": 4.187}
)
WEIGHT: Final = vector(dict.fromkeys(ADD_UP, 1.0))
_SUGARS: Final = ("sucrose", "glucose", "fructose", "maltose", "mixed_sugars", "syrup_42de")


@dataclass(frozen=True, slots=True)
class Range:
    """A figure; both ends are one where every ingredient is known."""

    low: float
    high: float

    @property
    def exact(self) -> bool:
        """Whether nothing unknown moves it."""
        return self.high - self.low <= 1e-9 * max(1.0, abs(self.high))


@dataclass(frozen=True, slots=True)
class Ratio:
    """A figure as one sum of parts over another, at its lowest and its highest as to what is unknown."""

    over_low: Parts
    under_low: Parts
    over_high: Parts
    under_high: Parts

    def of(self, parts: Parts) -> Range:
        """The figure of a mix that weighs something."""
        low, high = (
            float(over @ parts) / max(float(under @ parts), 1e-12)
            for over, under in ((self.over_low, self.under_low), (self.over_high, self.under_high))
        )
        return Range(max(low, 0.0), max(high, 0.0))


def _percent(values: Mapping[str, float] | Iterable[str]) -> Ratio:
    """So much of each kind in 100 g; what is unknown is none of it, or as much as anything can be."""
    over = vector(values if isinstance(values, Mapping) else dict.fromkeys(values, 1.0)) * 100.0
    high = over.copy()
    high[UNKNOWN] = over.max()
    return Ratio(over, WEIGHT, high, WEIGHT)


def _in_water() -> Ratio:
    """Sucrose equivalents in 100 g of water; what is unknown is all water, or all glucose."""
    water, low_water = vector({"water": 1.0}), vector({"water": 1.0, "unknown": 1.0})
    over = SUCROSE_EQUIVALENT * 100.0
    high = over.copy()
    high[UNKNOWN] = 190.0
    return Ratio(over, low_water, high, water)


FIGURES: Final[dict[str, Ratio]] = {
    "fat": _percent(["fat"]),
    "milk_fat": _percent(["milk_fat"]),
    "milk_solids_not_fat": _percent(["milk_solids_not_fat"]),
    "sugars": _percent(_SUGARS),
    "other_solids": _percent(["other_solids"]),
    "total_solids": _percent([name for name in ADD_UP if name not in ("water", "alcohol", "unknown")]),
    "water": _percent(["water"]),
    "alcohol": _percent(["alcohol"]),
    "yolk_solids": _percent(["yolk_solids"]),
    "sweetness": _percent(dict(zip(KINDS, SWEETNESS.tolist(), strict=True))),
    "sucrose_equivalent": _in_water(),
}
"""In 100 g of mix, but for ``sucrose_equivalent``, which is in 100 g of water. ``sugars`` are those besides lactose;
``sweetness`` is as much as so many grams of sucrose."""


def row(per_100g: Mapping[str, float], *, usable: float = 1.0, bulky: bool = False) -> Parts:
    """What a gram of an ingredient, as weighed, leaves in the mix."""
    made = vector(per_100g) / 100.0
    if bulky:
        made[_BULKY] = made[:_WEIGHED].sum()
    return made * usable


def unknown_row(usable: float = 1.0) -> Parts:
    """The same of an ingredient that no table holds."""
    return vector({"unknown": usable})


def blend(grams: Sequence[float], rows: Sequence[Parts]) -> Parts:
    """Grams by kind of so much of each."""
    return np.array(grams) @ np.array(rows) if rows else np.zeros(len(KINDS))


def weight_g(parts: Parts) -> float:
    """What it weighs."""
    return float(parts[:_WEIGHED].sum())


def reduced(rows: Sequence[Parts], to: float) -> list[Parts]:
    """Rows after water has been driven off until so large a share of the weight is left.

    The share of the water that goes is that of the whole pot, so each gram put in loses (1 - to) times its own weight
    of water; for an ingredient alone that may be more than it has.
    """
    if not rows:
        return []
    left = np.array(rows)
    left[:, WATER] -= (1.0 - to) * left[:, :_WEIGHED].sum(axis=1)
    left[:, _BULKY] *= to
    return list(left)


def density_kg_per_l(parts: Parts) -> Range:
    """Density without air.

    Source: University of Guelph, mix density: 1 / (fat x 1.07527 + solids not fat x 0.6329 + water), in shares.
    """
    weight = weight_g(parts)
    volume, unknown = float(SPECIFIC_VOLUME @ parts), float(parts[UNKNOWN])
    spread = (float(SPECIFIC_VOLUME[_INDEX["fat"]]) - float(SPECIFIC_VOLUME[UNKNOWN])) * unknown
    return Range(weight / (volume + spread), weight / volume)


def overrun_by_volume(mix_l: float, product_l: float) -> float:
    """Air beaten in, as a share of the mix."""
    return (product_l - mix_l) / mix_l


def heat_capacity_kj_per_kg_k(parts: Parts) -> float:
    """Above freezing; what is unknown counts as water, so that heat is rather over- than underestimated."""
    return float(HEAT_CAPACITY @ parts) / weight_g(parts)
