"""Balances in small steps of time, for many curves at once: rows are curves, columns layers."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Rng = np.random.Generator


def enthalpy_points(rng: Rng, count: int, freezes: tuple[float, float], solid: float = 2.0) -> tuple[Array, Array]:
    """Temperatures and enthalpies (kJ/kg) of frozen food, a table with chance in it: most heat just below freezing.

    Columns: from -45 °C up to 40 °C. Shares of the latent heat by reach of temperature are round figures of ours.
    """
    at = rng.uniform(*freezes, count)
    edges = np.stack(
        [np.full(count, -45.0), at - 17, at - 9, at - 4.5, at - 1.6, at - 0.3, at, np.full(count, 40.0)], 1
    )
    shares = np.array([0.03, 0.05, 0.09, 0.2, 0.42, 0.21])
    latent = rng.uniform(170, 235, (count, 1))
    gain = np.diff(edges, axis=1) * np.concatenate([np.full((1, 6), solid), [[3.5]]], 1)
    gain[:, :6] += latent * shares * rng.uniform(0.85, 1.15, (count, 6))
    return edges, np.concatenate([np.zeros((count, 1)), np.cumsum(gain, axis=1)], 1)


def through_table(xs: Array, ys: Array, values: Array) -> Array:
    """Straight lines through a table of each row."""
    out = ys[:, :1] + (values - xs[:, :1]) * ((ys[:, 1:2] - ys[:, :1]) / (xs[:, 1:2] - xs[:, :1]))
    for i in range(1, xs.shape[1] - 1):
        piece = ys[:, i : i + 1] + (values - xs[:, i : i + 1]) * (
            (ys[:, i + 1 : i + 2] - ys[:, i : i + 1]) / (xs[:, i + 1 : i + 2] - xs[:, i : i + 1])
        )
        out = np.where(values > xs[:, i : i + 1], piece, out)
    return out


class Slab:
    """Food in layers from the surface to the middle, exchanging heat by finite differences."""

    def __init__(
        self, rng: Rng, start: Array, half_m: Array, *, density: Array, k: Array, freezes: tuple[float, float] | None
    ) -> None:
        self.n = 5
        count = len(start)
        self.dx = (half_m / self.n)[:, None]
        self.density, self.k = density[:, None], k[:, None]
        self.table = enthalpy_points(rng, count, freezes or (-1.5, -0.6))
        self.t = np.repeat(start[:, None], self.n, axis=1)
        self.h = through_table(*self.table, self.t)

    def step(self, seconds: float, air: Array, transfer: Array, stirred: Array | None = None) -> None:
        """Pass heat from layer to layer and to the air; a stirred row is mixed through."""
        between = self.k * np.diff(self.t, axis=1) / self.dx
        outside = (air - self.t[:, 0]) / (1 / transfer + self.dx[:, 0] / 2 / self.k[:, 0])
        into = np.zeros_like(self.t)
        into[:, 0] += outside
        into[:, :-1] += between
        into[:, 1:] -= between
        self.h += into * seconds / (self.dx * self.density * 1000.0)
        if stirred is not None:
            self.h = np.where(stirred[:, None], self.h.mean(axis=1, keepdims=True), self.h)
        self.t = through_table(self.table[1], self.table[0], self.h)

    @property
    def core(self) -> Array:
        """Innermost layer, °C."""
        return self.t[:, -1]


class Air:
    """A cold place: a compressor that runs between two temperatures, doors, and the warmth of what is put in."""

    def __init__(self, rng: Rng, set_c: Array, *, doors_per_h: float, warms: Array) -> None:
        self.rng, self.set_c, self.doors, self.warms = rng, set_c, doors_per_h, warms
        self.swing = rng.uniform(0.5, 1.8, len(set_c))
        self.air = set_c + rng.uniform(-1, 1, len(set_c)) * self.swing
        self.runs = rng.random(len(set_c)) < 0.5
        self.open_s = np.zeros(len(set_c))

    def step(self, seconds: float, load_c: Array) -> Array:
        """Returns the air, °C."""
        opened = self.rng.random(len(self.air)) < self.doors * seconds / 3600
        self.open_s = np.where(opened, self.rng.uniform(15, 90, len(self.air)), np.maximum(self.open_s - seconds, 0))
        self.runs = np.where(
            self.air > self.set_c + self.swing, True, np.where(self.air < self.set_c - self.swing, False, self.runs)
        )
        rest = np.where(self.runs, self.set_c - 3 * self.swing, self.set_c + 5)
        rest = rest + self.warms * (load_c - self.set_c)
        rate = 1 / 420.0 + np.where(self.open_s > 0, 1 / 100.0, 0)
        rest = np.where(self.open_s > 0, 0.6 * rest + 0.4 * 20.0, rest)
        self.air += (rest - self.air) * np.minimum(rate * seconds, 0.9)
        return self.air
