"""The same recipe boiled down on the same ring, or dried in the same dehydrator, again and again."""

from collections.abc import Callable, Iterator
from typing import Final

import numpy as np

from tests.thermal.truth.curves import Curve, read_weights, uneven_instants, weighed_every_min
from tests.thermal.truth.matter import Array, Rng
from tests.thermal.truth.scenes import Boiling, boiled_down, dried

Kitchen = Callable[[], tuple[Array, Array, Array]]
"""Carries one more run out in every kitchen: scale, minutes, shares of the first weight."""
_STRANGE: Final = 0.1
"""Of the runs: as if somebody else stood there, or the fruit were another."""


def _spread(rng: Rng, count: int, reach: float, strange: Array) -> Array:
    """About 1; three times as far from it in a strange run."""
    return 1.0 + reach * rng.uniform(-1, 1, count) * np.where(strange, 3.0, 1.0)


def _boiling(rng: Rng, count: int, other: bool) -> tuple[Kitchen, Array]:
    weight, loss = rng.uniform(3, 6, count), rng.uniform(0.2, 0.4, count)
    power = weight * loss * 2257 / (rng.uniform(32, 60, count) * 60)
    kept = rng.uniform(0.05, 0.3, count)
    turn, lid = rng.uniform(10, 40, count), rng.uniform(10, 40, count)
    turned, lids = rng.uniform(0.6 if other else 0.8, 1.4 if other else 1.2, count), rng.uniform(0.7, 1.15, count)
    # What is boiled down comes from the stove or from the fridge, by recipe.
    cold = rng.uniform(10, 60, count) * 3.8 * (rng.random(count) < 0.5)

    def run() -> tuple[Array, Array, Array]:
        strange = rng.random(count) < _STRANGE

        def near(usual: Array, reach: float) -> Array:
            return usual * _spread(rng, count, reach, strange)

        scale = rng.choice([0.75, 1, 1, 1, 1.25, 1.5] if other else [0.8, 1, 1, 1, 1.25], count)
        amount = weight * scale * rng.normal(1, 0.03, count)
        acts = Boiling(
            near(power, 0.15 if other else 0.1), kept, near(turn, 0.25), near(turned, 0.08), near(lid, 0.25),
            near(lids, 0.1),
        )  # fmt: skip
        minutes, rows = boiled_down(weight=amount, cold=near(cold, 0.2) * amount, acts=acts)
        return scale, minutes, rows

    return run, 1.0 - loss


def _drying(rng: Rng, count: int, other: bool) -> tuple[Kitchen, Array]:
    solids, end = rng.uniform(0.16, 0.28, count), rng.uniform(0.06, 0.11, count)
    speed = 1 / (rng.uniform(5, 11, count) * 60)
    inner = speed * rng.uniform(25, 70, count) * (rng.uniform(0.6, 1.4, count) if other else 1)
    supply = speed * rng.uniform(9, 15, count)
    wanted = solids * (1 + rng.uniform(0.14, 0.25, count))

    def run() -> tuple[Array, Array, Array]:
        strange = rng.random(count) < _STRANGE
        ripe = solids * _spread(rng, count, 0.015, strange)  # weights are to be reached, whatever is in the fruit
        cut, air = _spread(rng, count, 0.15, strange), _spread(rng, count, 0.15 if other else 0.1, strange)
        scale = rng.choice([0.75, 1, 1, 1.25], count)  # more trays take no longer
        minutes, rows = dried(solids=ripe, end=end, inner=inner * cut, supply=supply * air)
        return scale, minutes, rows

    return run, wanted


_WAYS: Final = {"simmer": _boiling, "dehydrate": _drying}


def weighed_runs(kind: str, count: int, earlier: int, seed: int, *, other: bool = False) -> Iterator[Curve]:
    """One more run in each of so many kitchens, with the weights of earlier ones.

    Args:
        kind: ``simmer`` or ``dehydrate``.
        count: Kitchens.
        earlier: Runs before this one; those that never got there show nothing.
        seed: Of chance.
        other: Kitchens of other sizes, strengths and habits than the intervals were fitted to.
    """
    rng = np.random.default_rng([seed, int(other), earlier, 78, len(kind)])
    run, targets = _WAYS[kind](rng, count, other)
    known: list[list[tuple[tuple[tuple[float, float], ...], float]]] = [[] for _ in range(count)]
    for _ in range(earlier):
        scale, minutes, rows = run()
        for number, (row, target) in enumerate(zip(rows, targets, strict=True)):
            if (row <= target).any():
                weights = _weighed(rng, kind, minutes, row, float(minutes[(row <= target).argmax()]), target)
                known[number].append((weights, float(scale[number])))
    scale, minutes, rows = run()
    met = rows <= targets[:, None]
    truths = np.where(met.any(axis=1), minutes[met.argmax(axis=1)], np.inf)
    shortest, usual, longest = np.quantile(np.minimum(truths, minutes[-1]), (0.1, 0.5, 0.9)).tolist()
    for number, (row, target, truth) in enumerate(zip(rows, targets, truths, strict=True)):
        asked = float(rng.uniform(0.12, 0.9) * min(truth, float(minutes[-1])))
        at = uneven_instants(rng, weighed_every_min(kind), float(minutes[-1]))
        at = np.concatenate([[0.0], at[at <= asked]])
        values = read_weights(rng, kind, minutes, row, at)
        yield Curve(
            kind, at, values, float(target), float(truth), asked, shortest, usual, longest, float(scale[number]),
            weighed=tuple(known[number]),
        )  # fmt: skip


def _weighed(
    rng: Rng, kind: str, minutes: Array, row: Array, there: float, target: float
) -> tuple[tuple[float, float], ...]:
    """Weighed until it was there: the last weight soon after."""
    at = uneven_instants(rng, weighed_every_min(kind), there)
    last = there + rng.uniform(0.0, 0.3) * weighed_every_min(kind)
    at = np.concatenate([[0.0], at[at < there], [last]])
    values = read_weights(rng, kind, minutes, row, at)
    values[-1] = min(values[-1], target)
    return tuple(zip(at.tolist(), values.tolist(), strict=True))
