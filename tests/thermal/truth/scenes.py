"""What happens to food in a kitchen, as balances: each returns (minutes, curves by row and time).

``other`` asks for kinds of curve on which nothing was tuned: other sizes, strengths and habits, more steps.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.thermal.truth.matter import Air, Array, Rng, Slab

Scene = tuple[Array, Array, Array]
"""Minutes, true values by curve and time, target by curve."""


def _steps_at(rng: Rng, count: int, minutes: float, least: float, most: float) -> Array:
    """Some instant of each curve."""
    return rng.uniform(least, most, count) * minutes


def hob(rng: Rng, count: int, other: bool, until: Array | None = None) -> Scene:
    """A pan on a hob: power turned, a lid put on or taken off, stirred, sometimes something cold poured in.

    With ``until`` (minutes) nobody does anything after it: what one would foretell who knows all but the cook's mind.
    """
    mass, usual = rng.uniform(2, 6, count), 25.0
    heat = mass * rng.uniform(3.4, 3.9, count) * 1000
    power = mass * rng.uniform(220, 340, count) * (rng.uniform(0.8, 1.5, count) if other else 1.0)
    loss = mass * rng.uniform(0.9, 1.9, count)
    turn, lid, pour = (_steps_at(rng, count, usual, 0.1, 0.7) for _ in range(3))
    if until is not None:
        turn, lid, pour = (np.where(at > until, np.inf, at) for at in (turn, lid, pour))
    turned = rng.uniform(0.75, 1.4, count) if other else rng.uniform(0.8, 1.25, count)
    lids = rng.uniform(0.5, 1.6, count) * np.where(rng.random(count) < 0.5, 1, 1.5)
    cold = np.where(rng.random(count) < (0.4 if other else 0.15), rng.uniform(2, 7, count), 0.0)
    start, stir = rng.uniform(12, 18, count), rng.uniform(0.2, 1.5, count)
    acts = Acts(turn, turned, lid, lids, pour, cold, stir)
    minutes, rows = heated(heat=heat, power=power, loss=loss, start=start, acts=acts)
    return minutes, rows, np.full(count, 82.0)


@dataclass(frozen=True)
class Acts:
    """What cooks do at their pans, by curve: minutes at which, and how much."""

    turn: Array
    turned: Array
    """The power from then on, as a share."""
    lid: Array
    lids: Array
    """What is lost from then on, as a share."""
    pour: Array
    cold: Array
    """By so many degrees what is poured in cools the pan."""
    stir: Array
    """How often, a frequency."""


def heated(
    *, heat: Array, power: Array, loss: Array, start: Array, acts: Acts, until: float = 80.0
) -> tuple[Array, Array]:
    """Pans on rings, until a minute: heat in J/K, power in W, losses in W/K near the room's warmth."""
    bottom, bulk = start.copy(), start.copy()
    minutes, rows = [], []
    for i in range(int(until * 60 / 5)):
        now = i * 5 / 60
        minutes.append(now)
        rows.append(bulk.copy())
        p = power * np.where(now > acts.turn, acts.turned, 1.0) * min(1.0, 0.2 + now / 3)
        warm = bulk - 22
        out = loss * np.where(now > acts.lid, acts.lids, 1.0) * (warm + 0.012 * np.maximum(warm, 0) ** 2)
        mixed = np.where(np.sin(now * acts.stir * 2) > -0.3, 1.0, 0.25)
        through = heat * 0.012 * mixed * (bottom - bulk)
        bottom = bottom + (p - through) * 5 / (0.25 * heat)
        bulk = np.minimum(bulk + (through - out) * 5 / (0.75 * heat), 99.0)
        poured = (now > acts.pour) & (now - 5 / 60 <= acts.pour)
        bulk, bottom = np.where(poured, bulk - acts.cold, bulk), np.where(poured, bottom - acts.cold, bottom)
    return np.array(minutes), np.array(rows).T


def ice_bath(rng: Rng, count: int, other: bool) -> Scene:
    """A pan in ice and water, stirred every ten minutes or so; ice melts, and some is added."""
    mass = rng.uniform(1.5, 5, count)
    slab = Slab(
        rng, rng.uniform(70, 85, count), rng.uniform(0.02, 0.04, count), density=np.full(count, 1050.0),
        k=rng.uniform(0.9, 1.7, count) * (rng.uniform(0.6, 1.3, count) if other else 1), freezes=None,
    )  # fmt: skip
    transfer = rng.uniform(250, 600, count)
    ice = mass * rng.uniform(0.9 if other else 1.2, 2.2, count)
    bath_mass, bath = mass * rng.uniform(1.5, 2.5, count), np.full(count, 1.0)
    every = rng.uniform(6, 15, count) if other else rng.uniform(9, 11, count)
    minutes, rows = [], []
    for i in range(int(200 * 60 / 5)):
        now = i * 5 / 60
        minutes.append(now)
        rows.append(0.5 * slab.core + 0.5 * slab.t[:, 2])
        before = slab.h.mean(axis=1)
        slab.step(5, bath, transfer, stirred=(now % every) < 5 / 60)
        freed = (before - slab.h.mean(axis=1)) * mass + 0.02 * 5
        melts = np.where(ice > 0, np.clip(0.004 * 5 * ice * np.maximum(bath, 0), 0, ice), 0)
        ice = ice - melts
        bath = bath + (freed - 334 * melts - 4.19 * melts * bath) / (4.19 * (bath_mass + 0.1))
        if i % 240 == 0:
            ice = np.where(ice < 0.3 * mass, ice + mass * rng.uniform(0.2, 0.8, count), ice)
    return np.array(minutes), np.array(rows).T, np.full(count, 5.0)


def _in_air(
    rng: Rng, count: int, hours: float, *, start: tuple[float, float], air: tuple[float, float],
    half_m: tuple[float, float], k: tuple[float, float], density: tuple[float, float],
    transfer: tuple[float, float], doors: float, freezes: tuple[float, float] | None, warms: tuple[float, float],
) -> tuple[Array, Array]:  # fmt: skip
    slab = Slab(
        rng, rng.uniform(*start, count), rng.uniform(*half_m, count), density=rng.uniform(*density, count),
        k=rng.uniform(*k, count), freezes=freezes,
    )  # fmt: skip
    place = Air(rng, rng.uniform(*air, count), doors_per_h=doors, warms=rng.uniform(*warms, count))
    surface = rng.uniform(*transfer, count)
    minutes, rows = [], []
    for i in range(int(hours * 3600 / 6)):
        if i % 5 == 0:
            minutes.append(i / 10)
            rows.append(slab.core.copy())
        slab.step(6, place.step(6, slab.t[:, 0]), surface)
    return np.array(minutes), np.array(rows).T


def fridge(rng: Rng, count: int, other: bool) -> Scene:
    """A shallow pan in a fridge that cycles and is opened."""
    minutes, rows = _in_air(
        rng, count, 14, start=(18, 45), air=(0.5, 3.2), half_m=(0.025, 0.05) if other else (0.02, 0.035), k=(0.5, 1.2),
        density=(1030, 1090), transfer=(14, 30), doors=5 if other else 2, freezes=None, warms=(0.0, 0.1),
    )  # fmt: skip
    return minutes, rows, np.full(count, 5.0)


def age(rng: Rng, count: int, other: bool) -> Scene:
    """A chilled base in the fridge, on its way to where it may be churned."""
    minutes, rows = _in_air(
        rng, count, 16, start=(5.5, 14), air=(0.5, 2.6), half_m=(0.03, 0.06) if other else (0.03, 0.045), k=(0.5, 1.2),
        density=(1050, 1110), transfer=(12, 25), doors=5 if other else 2, freezes=None, warms=(0.0, 0.08),
    )  # fmt: skip
    return minutes, rows, np.full(count, 4.0)


def freeze(rng: Rng, count: int, other: bool) -> Scene:
    """Puree from the fridge into a freezer, with its plateau."""
    minutes, rows = _in_air(
        rng, count, 36, start=(3, 12), air=(-34, -22), half_m=(0.018, 0.04) if other else (0.02, 0.03), k=(1.0, 1.7),
        density=(1000, 1080), transfer=(12, 28), doors=2, freezes=(-2.8, -0.9), warms=(0.02, 0.12),
    )  # fmt: skip
    return minutes, rows, np.full(count, -15.0)


def harden(rng: Rng, count: int, other: bool) -> Scene:
    """Tubs out of the churn: of several sizes, alone or among others; part of the water is ice already."""
    minutes, rows = _in_air(
        rng, count, 30, start=(-7, -4.5), air=(-34, -22), half_m=(0.02, 0.05) if other else (0.025, 0.04),
        k=(0.25, 0.5), density=(520, 850) if other else (550, 750), transfer=(10, 24), doors=3 if other else 1.5,
        freezes=(-3.2, -2.2), warms=(0.02, 0.12),
    )  # fmt: skip
    return minutes, rows, np.full(count, -15.0)


def temper(rng: Rng, count: int, other: bool) -> Scene:
    """Tubs on the way to the scoop, in a cabinet or a fridge."""
    minutes, rows = _in_air(
        rng, count, 10, start=(-24, -17), air=(-7, 6) if other else (-4, 4), half_m=(0.018, 0.035), k=(0.25, 0.5),
        density=(520, 800), transfer=(8, 20), doors=4, freezes=(-3.2, -2.2), warms=(0.0, 0.1),
    )  # fmt: skip
    return minutes, rows, np.full(count, -12.0)


def simmer(rng: Rng, count: int, other: bool) -> Scene:
    """Weight of a pan that loses water: heat beyond what warms it and what is lost carries steam away."""
    weight = rng.uniform(3, 6, count)
    loss = rng.uniform(0.2, 0.4, count)
    power = weight * loss * 2257 / (rng.uniform(32, 60, count) * 60)
    kept = rng.uniform(0.05, 0.3, count)
    turn, lid = _steps_at(rng, count, 50, 0.2, 0.8), _steps_at(rng, count, 50, 0.2, 0.8)
    turned, lids = rng.uniform(0.6 if other else 0.8, 1.4 if other else 1.2, count), rng.uniform(0.7, 1.15, count)
    cold = weight * rng.uniform(10, 60, count) * 3.8 * (rng.random(count) < 0.5)
    acts = Boiling(power, kept, turn, turned, lid, lids)
    minutes, rows = boiled_down(weight=weight, cold=cold, acts=acts)
    return minutes, rows, 1.0 - loss


@dataclass(frozen=True)
class Boiling:
    """Ring and cook, by curve: kW, the share that does not boil, and what is turned when."""

    power: Array
    kept: Array
    turn: Array
    turned: Array
    lid: Array
    lids: Array


def boiled_down(*, weight: Array, cold: Array, acts: Boiling) -> tuple[Array, Array]:
    """Pans for three hours, as shares of their first weight; ``cold``: kJ until they boil."""
    first, weight, heat_kj = weight.copy(), weight.copy(), np.zeros(len(weight))
    minutes, rows = [], []
    for i in range(360):
        minutes.append(i * 0.5)
        rows.append(weight / first)
        by_hand = np.where(i / 2 > acts.turn, acts.turned, 1) * np.where(i / 2 > acts.lid, acts.lids, 1)
        strength = acts.power * (1 + acts.kept) * by_hand
        heat_kj = np.where(cold > 0, heat_kj + strength * 30 * 1.6, heat_kj)
        boils = heat_kj >= cold
        steam = (strength - acts.kept * acts.power) * 30 / 2257
        weight = np.maximum(weight - np.where(boils, steam, 0), 0.3 * first)
    return np.array(minutes), np.array(rows).T


def dehydrate(rng: Rng, count: int, other: bool) -> Scene:
    """Weight of fruit on trays: water moves through layers and leaves at the surface into warm air."""
    solids = rng.uniform(0.16, 0.28, count)
    end = rng.uniform(0.06, 0.11, count)
    speed = 1 / (rng.uniform(5, 11, count) * 60)
    inner = speed * rng.uniform(25, 70, (count, 1))[:, 0] * (rng.uniform(0.6, 1.4, (count, 1))[:, 0] if other else 1)
    supply = speed * rng.uniform(9, 15, count)
    minutes, rows = dried(solids=solids, end=end, inner=inner, supply=supply)
    return minutes, rows, solids * (1 + rng.uniform(0.14, 0.25, count))


def dried(*, solids: Array, end: Array, inner: Array, supply: Array) -> tuple[Array, Array]:
    """Trays for forty hours, as shares of their first weight.

    Water per solids at rest is ``end``; per minute, what layers pass on and what the air takes, of the first water.
    """
    water = np.repeat(((1 - solids) / solids)[:, None], 6, axis=1)
    start = water.mean(axis=1)
    minutes, rows = [], []
    for i in range(40 * 60):
        minutes.append(float(i))
        rows.append((1 + water.mean(axis=1)) * solids)
        flow = inner[:, None] * np.diff(water, axis=1)
        out = np.minimum(supply * start, supply * start * 3.0 * np.maximum(water[:, 0] - end, 0) / start)
        water[:, 0] -= out
        water[:, :-1] += flow * 0.5
        water[:, 1:] -= flow * 0.5
        water = np.maximum(water, 0)
    return np.array(minutes), np.array(rows).T


SCENES: dict[str, Callable[[Rng, int, bool], Scene]] = {
    "hob": hob, "simmer": simmer, "dehydrate": dehydrate, "ice bath": ice_bath, "fridge": fridge, "age": age,
    "freeze": freeze, "harden": harden, "temper": temper,
}  # fmt: skip
