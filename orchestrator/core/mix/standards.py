"""Standards of identity as advice: which of their figures a mix meets. Never clearance; a name is the law's to give.

Source: 21 CFR 135.110(a)(2), as read in the edition of 2006 and in the texts of states that repeat it (Vermont,
Connecticut, Pennsylvania); the 1.12 % of yolk solids in all of a custard with bulky flavours is from memory.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from orchestrator.core.mix.composition import Composition
from orchestrator.core.mix.yields import LB_PER_GAL, Yields
from orchestrator.thermal.mix import KINDS, UNKNOWN, Range

SOURCE: Final = "21 CFR 135.110(a)(2)"
LEAST_MILK_FAT: Final = 2.0
"""Per cent; below that nobody would call it ice cream, and nothing is said."""
CUSTARD_YOLK: Final = 1.4
_HAIR: Final = 1e-6
"""Per cent, of arithmetic."""
_OF_FAT: Final = ((14.0, 6.0), (13.0, 7.0), (12.0, 8.0), (11.0, 9.0))
"""Milk fat from so much on: so little milk solids not fat will do; 10 below."""


@dataclass(frozen=True, slots=True)
class Advice:
    """One figure of a standard beside that of the mix."""

    key: str
    """Which: a word of the screens."""
    found: Range
    least: float
    unit: str
    """``%``, or ``kg/L``."""

    @property
    def verdict(self) -> str:
        """``met``, ``short``, or ``open`` where an unknown ingredient decides."""
        if self.found.low >= self.least - _HAIR:
            return "met"
        return "short" if self.found.high < self.least - _HAIR else "open"


@dataclass(frozen=True, slots=True)
class Standard:
    """All of a standard's figures."""

    name: str
    """``ice cream`` or ``frozen custard``, by the yolk solids."""
    bulky: float
    """Per cent of bulky flavours in the finished food."""
    advice: tuple[Advice, ...]
    yolk: Range
    """Per cent of yolk solids in what is left without bulky flavours."""
    source: str = SOURCE


def standard(made: Composition, out: Yields | None) -> Standard | None:
    """Ice cream or frozen custard by their figures; nothing of what holds no milk fat or is not churned."""
    if out is None or not out.churned or made.grams <= 0.0:
        return None
    shares = _Shares(made)
    if shares.of("milk_fat").high < LEAST_MILK_FAT:
        return None
    yolk = shares.of_rest("yolk_solids")
    name = "frozen custard" if yolk.low >= CUSTARD_YOLK else "ice cream"
    return Standard(name, shares.bulky, tuple(_advice(shares, out, name)), yolk)


class _Shares:
    """Per cent of the finished food, and of what is left of it without bulky flavours."""

    def __init__(self, made: Composition) -> None:
        self._all, self._grams = made.all, made.grams
        self._unknown = float(self._all[UNKNOWN])
        self._bulky = float(self._all[KINDS.index("bulky")])
        self.bulky = 100.0 * self._bulky / self._grams

    def of(self, *kinds: str) -> Range:
        """Of all."""
        return self._range(kinds, self._grams)

    def of_rest(self, *kinds: str) -> Range:
        """Of the rest without bulky flavours."""
        return self._range(kinds, self._grams - self._bulky)

    def _range(self, kinds: tuple[str, ...], grams: float) -> Range:
        known = sum(float(self._all[KINDS.index(kind)]) for kind in kinds)
        return Range(100.0 * known / grams, 100.0 * min((known + self._unknown) / grams, 1.0))


def _advice(shares: _Shares, out: Yields, name: str) -> Iterator[Advice]:
    fat = shares.of_rest("milk_fat")
    yield Advice("milk_fat", fat, 10.0, "%")
    if shares.bulky > 0.05:
        yield Advice("milk_fat_of_all", shares.of("milk_fat"), 8.0, "%")
        yield Advice("milk_solids", shares.of_rest("milk_fat", "milk_solids_not_fat"), 20.0, "%")
        yield Advice("milk_solids_of_all", shares.of("milk_fat", "milk_solids_not_fat"), 16.0, "%")
    else:
        least = next((solids for from_fat, solids in _OF_FAT if fat.low >= from_fat - _HAIR), 10.0)
        yield Advice("milk_solids_not_fat", shares.of("milk_solids_not_fat"), least, "%")
    if name == "frozen custard":
        yield Advice("yolk_solids", shares.of_rest("yolk_solids"), CUSTARD_YOLK, "%")
        if shares.bulky > 0.05:
            yield Advice("yolk_solids_of_all", shares.of("yolk_solids"), 1.12, "%")
    if out.product_kg_per_l is not None:
        weight = out.product_kg_per_l
        yield Advice("weight", Range(weight, weight), 4.5 * LB_PER_GAL, "kg/L")
        wet = shares.of("water", "alcohol")
        solids = Range(weight * (1.0 - wet.high / 100.0), weight * (1.0 - wet.low / 100.0))
        yield Advice("solids", solids, 1.6 * LB_PER_GAL, "kg/L")
