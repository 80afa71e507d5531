"""Curves near a limit, on both sides of it: holds of heat, coolings, stays and freezers with defrosts.

True values come from the balances of `matter`; what was true of a limit is looked up on them, sample by sample.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.thermal.truth.matter import Air, Array, Rng, Slab
from tests.thermal.truth.scenes import fridge, harden

Scene = tuple[Array, Array]
"""Minutes, and true values by curve and time."""
OFF = 1.0
"""A thermometer's tolerance, °C."""


def hold(rng: Rng, count: int) -> Scene:
    """A pan kept near a row of the mix table by a cook who turns the hob every minute or so; then taken off."""
    wanted = rng.choice([69.0, 80.0, 83.0], count) + rng.uniform(-2.5, 3.5, count)
    lasts = rng.uniform(0.3, 40, count)
    value, power = wanted - rng.uniform(2, 8, count), np.full(count, 3.0)
    minutes, rows = [], []
    for i in range(int(48 * 60 / 5)):
        now = i * 5 / 60
        minutes.append(now)
        rows.append(value.copy())
        looks = rng.random(count) < 5 / rng.uniform(30, 120, count)
        power = np.where(looks, np.clip((wanted + rng.normal(0, 0.8, count) - value) * 1.5 + 1.6, 0, 6), power)
        gone = now > lasts + 3
        value = value + (np.where(gone, -1.5, power - 1.6)) * 5 / 60
    return np.array(minutes), np.array(rows).T


def cooked(rng: Rng, count: int) -> Scene:
    """Cooked food in pans of many depths, in a fridge or in moving cold air."""
    slab = Slab(
        rng, rng.uniform(62, 80, count), rng.uniform(0.015, 0.04, count), density=np.full(count, 1050.0),
        k=rng.uniform(0.6, 1.3, count), freezes=None,
    )  # fmt: skip
    place = Air(rng, rng.uniform(-3, 3, count), doors_per_h=2, warms=rng.uniform(0, 0.05, count))
    transfer = rng.uniform(12, 45, count)
    minutes, rows = [], []
    for i in range(int(8 * 3600 / 5)):
        if i % 6 == 0:
            minutes.append(i / 12)
            rows.append(slab.core.copy())
        slab.step(5, np.maximum(place.step(5, slab.t[:, 0]), 0.0), transfer)
    return np.array(minutes), np.array(rows).T


def _stay(rng: Rng, count: int, start: tuple[float, float], air: tuple[float, float], fails_c: float) -> Scene:
    """Food in a store whose cold fails now and then for a while."""
    slab = Slab(
        rng, rng.uniform(*start, count), rng.uniform(0.02, 0.04, count), density=np.full(count, 1000.0),
        k=rng.uniform(0.5, 1.2, count), freezes=(-2.8, -1.0),
    )  # fmt: skip
    place = Air(rng, rng.uniform(*air, count), doors_per_h=2, warms=np.zeros(count))
    transfer, begins = rng.uniform(10, 25, count), rng.uniform(60, 500, count)
    lasts = np.where(rng.random(count) < 0.6, rng.uniform(5, 240, count), 0.0)
    minutes, rows = [], []
    for i in range(12 * 360):
        if i % 3 == 0:
            minutes.append(i / 6)
            rows.append(slab.core.copy())
        air_c = place.step(10, slab.t[:, 0])
        slab.step(10, np.where((i / 6 > begins) & (i / 6 < begins + lasts), fails_c, air_c), transfer)
    return np.array(minutes), np.array(rows).T


def cold(rng: Rng, count: int) -> Scene:
    """A base in a fridge."""
    return _stay(rng, count, (1.5, 4.6), (0.5, 3.0), 11.0)


def frozen(rng: Rng, count: int) -> Scene:
    """Tubs in a freezer."""
    return _stay(rng, count, (-24, -18.6), (-26, -20.5), 2.0)


def freezer_air(rng: Rng, count: int) -> tuple[Array, ...]:
    """Air of a freezer that defrosts by the clock; in half of them the cold also fails once, out of turn.

    Third: the period of its defrosts as its manual tells it, rounded to 5 min.
    """
    place = Air(rng, rng.uniform(-26, -22.5, count), doors_per_h=0.5, warms=np.zeros(count))
    period, first = rng.uniform(240, 480, count), rng.uniform(20, 200, count)
    long = rng.uniform(18, 27, count)
    later = rng.uniform(0, 12, count)  # more ice on the coil: longer defrosts as days pass
    fails = rng.random(count) < 0.5
    begins = first + period * rng.integers(3, 5, count) + period * rng.uniform(0.35, 0.6, count)
    lasts = rng.uniform(55, 120, count)
    minutes, rows = [], []
    for i in range(48 * 120):
        now = i / 2
        minutes.append(now)
        air_c = place.step(30, place.air)
        turn = np.floor((now - first) / period)
        heats = (turn >= 0) & (now - first - turn * period < long + np.where(turn >= 3, later, 0))
        place.air = np.where(heats, np.minimum(air_c + 0.9, -11.0), air_c)
        failed = fails & (now >= begins) & (now < begins + lasts)
        place.air = np.where(failed, np.minimum(np.maximum(air_c, -22) + 0.6, -8.0), place.air)
        rows.append(place.air.copy())
    return np.array(minutes), np.array(rows).T, np.round(period / 5) * 5


@dataclass(frozen=True)
class Case:
    """How one limit is put to the test."""

    limit: str
    scene: Callable[[Rng, int], tuple[Array, ...]]
    truth: Callable[[Array, Array, float], bool]
    """Whether a true curve is good, with the curve moved by so many degrees."""
    every_min: float
    reads: str = "core"
    ends_min: tuple[float, float] = (1e9, 1e9)
    """When the step ends, in which the newest reading counts; beyond the watch: at its end."""
    clock: bool = False
    """Whether somebody has entered the clock of its defrosts."""


_MIX = ((69.0, 30 * 60.0), (80.0, 25.0), (83.0, 15.0))
"""21 CFR 1240.61(c)."""


def _held(minutes: Array, values: Array, moved: float) -> bool:
    for degrees, seconds in _MIX:
        above = np.concatenate([[False], values + moved >= degrees, [False]])
        edges = np.flatnonzero(np.diff(above.astype(int)))
        for begin, end in zip(edges[::2], edges[1::2], strict=True):
            if (minutes[end - 1] - minutes[begin]) * 60 >= seconds - 1e-9:
                return True
    return False


def _cooled(legs: tuple[tuple[float, float], ...], begins: float | None) -> Callable[[Array, Array, float], bool]:
    def good(minutes: Array, values: Array, moved: float) -> bool:
        curve = values + moved
        hot = np.flatnonzero(curve > begins) if begins is not None else np.array([], dtype=int)
        start = float(minutes[hot[-1]]) if len(hot) else 0.0
        for degrees, within in legs:
            there = np.flatnonzero(curve <= degrees)
            if not len(there) or minutes[there[0]] - start > within:
                return False
        return True

    return good


def _never_above(high: float) -> Callable[[Array, Array, float], bool]:
    return lambda _minutes, values, moved: bool((values + moved <= high).all())


def _ends_below(high: float) -> Callable[[Array, Array, float], bool]:
    return lambda _minutes, values, moved: bool(values[-1] + moved <= high)


def _no_long_rise(minutes: Array, values: Array, moved: float) -> bool:
    """No time above -18 °C of 46 min or more: what the scene means by a failure."""
    below = np.flatnonzero(values + moved <= -18.0)
    return bool(np.diff(minutes[below]).max() < 46.0) and minutes[-1] - minutes[below[-1]] < 46.0


CASES: dict[str, Case] = {
    "heat": Case("frozen-dessert-mix", hold, _held, 0.25),
    # FDA Food Code 2022, 3-501.14(A) and (B), 3-501.16(A); Codex CXC 8-1976 (from memory); hardening: practice.
    "two legs": Case("two-leg-cooling", cooked, _cooled(((21.0, 120.0), (5.0, 360.0)), 57.0), 2.0),
    "ambient": Case(
        "from-ambient-cooling", lambda rng, n: fridge(rng, n, False)[:2], _cooled(((5.0, 240.0),), None), 2.0
    ),
    "cold": Case("cold-holding", cold, _never_above(5.0), 2.0),
    "frozen": Case("frozen-holding", frozen, _never_above(-18.0), 2.0),
    "freezer air": Case("frozen-holding", freezer_air, _no_long_rise, 2.0, "air"),
    "freezer air, clock": Case("frozen-holding", freezer_air, _no_long_rise, 2.0, "air", clock=True),
    "core": Case(
        "hardening-core", lambda rng, n: harden(rng, n, False)[:2], _ends_below(-15.0), 2.0, ends_min=(120, 900)
    ),
}
