"""Hypotheses of how a process runs, each as a table of its own clock.

Where a process obeys dx/dt = k · (x∞ − x) / c(x), the value τ(x) = ∫ c dx / (x∞ − x) grows evenly with time, at the
rate k: a curve becomes a straight line, whatever its shape. Unknown is x∞ (how warm the fridge, how strong the hob)
and, below freezing, where c has its peak; so there is one table for each of several, and the readings tell them apart.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One way in which it may go on."""

    ends: float
    """Where the curve would come to rest (°C, or share of the first weight)."""
    chance: float
    """Before any reading."""
    freezes: float | None = None
    """Freezing point, °C; none: nothing freezes on the way."""


@dataclass(frozen=True, slots=True)
class Bank:
    """The tables of all hypotheses of a process over one grid."""

    low: float
    step: float
    tau: Array
    """By grid point and hypothesis."""
    rise: Array
    """From each grid point to the next."""
    weight: Array
    """What a reading in a cell of the grid weighs: one over the square of how steep τ is there."""
    log_chance: Array
    lowest: Array
    """Between these two a hypothesis can be asked; outside it is dead."""
    highest: Array
    low_for_all: float
    """Between these two every hypothesis can be asked."""
    high_for_all: float

    @property
    def last(self) -> int:
        """Index of the last grid cell."""
        return len(self.tau) - 2

    def at(self, value: float) -> tuple[Array, Array, Array]:
        """τ of every hypothesis at a value, how steep it is there, and what a reading there weighs."""
        if not self.low_for_all <= value <= self.high_for_all:
            return self._at_each(np.minimum(np.maximum(value, self.lowest), self.highest))
        place = (value - self.low) / self.step
        cell = min(max(int(place), 0), self.last)
        rise = self.rise[cell]
        return self.tau[cell] + rise * (place - cell), rise / self.step, self.weight[cell]

    def at_many(self, values: Array) -> tuple[Array, Array]:
        """τ, and what a reading weighs, by value and hypothesis; for values at which every hypothesis can be asked."""
        place = (values - self.low) / self.step
        cell = np.minimum(np.maximum(place.astype(np.intp), 0), self.last)
        return self.tau[cell] + self.rise[cell] * (place - cell)[:, None], self.weight[cell]

    def _at_each(self, values: Array) -> tuple[Array, Array, Array]:
        """The same with a value for each hypothesis."""
        place = (values - self.low) / self.step
        cell = np.minimum(np.maximum(place.astype(np.intp), 0), self.last)
        columns = np.arange(self.tau.shape[1])
        rise = self.rise[cell, columns]
        return self.tau[cell, columns] + rise * (place - cell), rise / self.step, self.weight[cell, columns]


@lru_cache(maxsize=64)
def bank(
    hypotheses: tuple[Hypothesis, ...], kind: Literal["falls", "rises"], low: float, high: float, step: float
) -> Bank:
    """Tables for curves that fall or rise to where they come to rest; computed once."""
    count = round((high - low) / step) + 1
    at: Array = low + step * np.arange(count, dtype=np.float64)
    middle: Array = at[:-1] + step / 2.0
    tables, lowest, highest = [], [], []
    sign = -1.0 if kind == "falls" else 1.0
    for h in hypotheses:
        distance = sign * (h.ends - middle)
        alive = distance > 1.5 * step
        rate = np.where(alive, _heat_capacity(middle, h.freezes) / np.maximum(distance, step), 0.0) * step * sign
        tau = np.concatenate(([0.0], np.cumsum(rate)))
        tables.append(tau)
        edge = h.ends - sign * 2.0 * step
        lowest.append(edge if kind == "falls" else low)
        highest.append(high if kind == "falls" else edge)
    chances = np.array([h.chance for h in hypotheses])
    tau = np.ascontiguousarray(np.array(tables).T)
    rise = np.diff(tau, axis=0)
    return Bank(
        low=low,
        step=step,
        tau=tau,
        rise=rise,
        weight=1.0 / np.maximum((rise / step) ** 2, 1e-18),
        log_chance=np.log(chances / chances.sum()),
        lowest=np.array(lowest),
        highest=np.array(highest),
        low_for_all=float(max(lowest)),
        high_for_all=float(min(highest)),
    )


def _heat_capacity(celsius: Array, freezes: float | None) -> Array:
    """Apparent heat capacity relative to the unfrozen food's.

    Below its freezing point an ideal solution has frozen 1 − Tf/T of its water; each degree frees the heat of that.
    """
    if freezes is None:
        return np.ones_like(celsius)
    below = celsius < freezes
    safe = np.where(below, celsius, freezes)
    # 0.6 of it water, 333.6 kJ/kg, 3.4 kJ/(kg K) unfrozen, 2.0 frozen: rounded, an average mix.
    return np.where(below, 0.6 + 0.6 * 333.6 / 3.4 * (-freezes) / safe**2, 1.0)
