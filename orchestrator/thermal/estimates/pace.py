"""How fast earlier runs of the same step in the same place warmed, by temperature; from that, how this one will."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

import numpy as np

from orchestrator.thermal.estimates.bank import Array, Bank

BAND_C: Final = 5.0
"""Rates are kept for bands of so many degrees, counted from the target."""
_LEAD_MIN: Final = 2.0
"""The pan itself is being heated: no rate of the food."""
_LONGEST_GAP_MIN: Final = 5.0
_POURED_C: Final = -1.5
"""A fall like this between two readings is something cold that was added, not a loss."""
_FEWEST_BANDS: Final = 4
_USUAL_SPREAD: Final = 0.17
_AS_RUNS: Final = 3.0
"""What kitchens differ from run to run before this one has shown it (a share), and how many runs that weighs."""
_HANDS: Final = (-2.0, -1.0, 0.0, 1.0, 2.0)
"""How strong the ring is set, in spreads from the usual: heat more or less adds the same rate at every temperature."""
_DEAD: Final = 0.08
"""Of the middle rate: slower than this it comes to rest."""
_GRID: Final = (-10.0, 101.0, 0.25)

Bands = tuple[tuple[int, float], ...]
"""Number of a band below the target (-1 ends at it) and its rate in degrees a minute."""


class PaceRecorder:
    """One run's rates by temperature, reading by reading; of bounded size whatever comes."""

    def __init__(self, target: float) -> None:
        self._target = target
        self._gained: dict[int, tuple[float, float]] = {}
        self._begun: float | None = None
        self._before = (0.0, 0.0)

    def fold(self, minute: float, celsius: float) -> None:
        """Take one reading; what is at the target or 200 °C below it is left out."""
        if self._begun is None:
            self._begun, self._before = minute, (minute, celsius)
            return
        passed, rise = minute - self._before[0], celsius - self._before[1]
        middle = celsius - rise / 2.0
        self._before = (minute, celsius)
        if minute - self._begun < _LEAD_MIN or not 0.0 < passed <= _LONGEST_GAP_MIN or rise < _POURED_C:
            return
        if self._target - 200.0 < middle < self._target:
            band = math.floor((middle - self._target) / BAND_C)
            degrees, minutes = self._gained.get(band, (0.0, 0.0))
            self._gained[band] = (degrees + rise, minutes + passed)

    def bands(self) -> Bands:
        """The rates of all bands that were passed, the coldest first; empty where too few were."""
        found = tuple(
            (band, round(degrees / minutes, 4))
            for band, (degrees, minutes) in sorted(self._gained.items())
            if degrees > 0.5 * BAND_C
        )
        return found if len(found) >= _FEWEST_BANDS else ()


@dataclass(frozen=True, slots=True)
class Usual:
    """What earlier runs say of one with the recipe's own amount."""

    bands: Bands
    spread: float
    """From run to run, as a share of the pace."""
    runs: int


def usual(runs: Sequence[tuple[Bands, float]]) -> Usual | None:
    """The middle pace of earlier runs, and how much one differs from another; none without any.

    Args:
        runs: Their rates, and the scale of each one's batch: a ring gives its heat, so twice the food takes twice the
            time.

    One run that went wrong moves a median little; the spread is that of the runs, with what kitchens usually have as
    if it had been seen in three more, and wider for the few that there are.
    """
    known = [(dict(bands), scale) for bands, scale in runs if len(bands) >= _FEWEST_BANDS and scale > 0.0]
    if not known:
        return None
    slowness: dict[int, float] = {}
    for band in sorted({band for rates, _ in known for band in rates}):
        slowness[band] = median(1.0 / (rates[band] * scale) for rates, scale in known if band in rates)
    off = []
    for rates, scale in known:
        took = sum(1.0 / (rate * scale) for rate in rates.values())
        off.append(math.log(sum(slowness[band] for band in rates) / took))
    many = len(known)
    variance = (_AS_RUNS * _USUAL_SPREAD**2 + sum(min(o * o, 1.0) for o in off)) / (_AS_RUNS + many)
    spread = math.sqrt(variance * (1.0 + 1.5 / many))
    return Usual(tuple((band, 1.0 / slow) for band, slow in slowness.items()), spread, many)


def _by_degree(known: Usual, scale: float, target: float, middles: Array) -> tuple[Array, float]:
    """The usual rate at each temperature, and the middle one; beyond what was seen it goes on falling as it did."""
    rates = np.array([rate for _, rate in known.bands]) / scale
    points = np.array([target + BAND_C * (band + 0.5) for band, _ in known.bands])
    by_degree: Array = np.interp(middles, points, rates)
    beyond = middles > points[-1]
    falling = rates[-1] + (rates[-1] - rates[-2]) / (points[-1] - points[-2]) * (middles - points[-1])
    by_degree[beyond] = np.maximum(falling, 0.3 * rates[-1])[beyond]
    return by_degree, float(rates.mean())


def learned_bank(known: Usual, scale: float, target: float) -> Bank:
    """Tables of minutes to every temperature, as usual and with the ring set weaker and stronger."""
    low, high, step = _GRID
    at: Array = low + step * np.arange(round((high - low) / step) + 1, dtype=np.float64)
    middles: Array = at[:-1] + step / 2.0
    by_degree, usual_rate = _by_degree(known, scale, target, middles)
    tables, highest = [], []
    least = _DEAD * usual_rate
    for hand in _HANDS:
        rate = by_degree + hand * known.spread * usual_rate
        rests = np.flatnonzero(rate <= least)
        first = int(rests[0]) if len(rests) else len(rate)
        lasts = np.where(np.arange(len(rate)) < first, step / np.maximum(rate, least), 0.0)
        tables.append(np.concatenate([[0.0], np.cumsum(lasts)]))
        highest.append(high if first == len(rate) else float(at[max(first - 2, 1)]))
    tau = np.ascontiguousarray(np.array(tables).T)
    rise = np.diff(tau, axis=0)
    log_chance = -0.5 * np.array(_HANDS) ** 2
    return Bank(
        low=low,
        step=step,
        tau=tau,
        rise=rise,
        weight=1.0 / np.maximum((rise / step) ** 2, 1e-18),
        log_chance=log_chance - np.log(np.exp(log_chance).sum()),
        lowest=np.full(len(_HANDS), low),
        highest=np.array(highest),
        low_for_all=low,
        high_for_all=min(highest),
    )
