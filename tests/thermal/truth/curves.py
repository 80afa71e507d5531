"""Readings of true curves: slow probes, noise, rounding, gaps and uneven intervals; seeded."""

import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from orchestrator.thermal.estimates import Bands
from tests.thermal.truth.matter import Array, Rng
from tests.thermal.truth.scenes import SCENES

KINDS: Final = tuple(SCENES)
WEIGHED: Final = ("simmer", "dehydrate")
_EVERY_MIN: Final = {"hob": 0.5, "simmer": 7.0, "dehydrate": 50.0, "temper": 1.0}


@dataclass(frozen=True)
class Curve:
    """One curve as it was read, and what is true of it."""

    kind: str
    minutes: Array
    values: Array
    target: float
    truth_min: float
    """When the true value first meets the target; infinite if it does not while it is watched."""
    asked_min: float
    """When the estimator is asked; chance."""
    shortest_min: float
    usual_min: float
    longest_min: float
    """What a recipe would say of such a step."""
    scale: float = 1.0
    """Of its batch."""
    earlier: tuple[tuple[Bands, float], ...] = ()
    """What earlier runs in the same kitchen showed, and the scale of each."""
    weighed: tuple[tuple[tuple[tuple[float, float], ...], float], ...] = ()
    """Minutes and shares of the first weight of earlier runs, and the scale of each."""


def curves(kind: str, count: int, seed: int, *, other: bool = False) -> Iterator[Curve]:
    """So many curves of a kind; ``other`` for other parameters than those fitted to.

    One choice was made after a look at them: how far all intervals are widened (`tune`).
    """
    rng = np.random.default_rng([seed, int(other), zlib.crc32(kind.encode())])
    minutes, rows, targets = SCENES[kind](rng, count, other)
    falls = rows[0, 0] > targets[0]
    met = rows <= targets[:, None] if falls else rows >= targets[:, None]
    truths = np.where(met.any(axis=1), minutes[met.argmax(axis=1)], np.inf)
    # Those that never got there count as the end of the watch.
    shortest, usual, longest = np.quantile(np.minimum(truths, minutes[-1]), (0.1, 0.5, 0.9)).tolist()
    for row, target, truth in zip(rows, targets, truths, strict=True):
        at = uneven_instants(rng, _EVERY_MIN.get(kind, 2.0), float(minutes[-1]))
        end = truth if np.isfinite(truth) else minutes[-1]
        asked = float(rng.uniform(0.12, 0.9) * min(end, minutes[-1]))
        at = at[at <= asked] if kind not in WEIGHED else np.concatenate([[0.0], at[at <= asked]])
        values = _read(rng, kind, minutes, row, at)
        yield Curve(kind, at, values, float(target), float(truth), asked, shortest, usual, longest)


def uneven_instants(rng: Rng, every: float, until: float) -> Array:
    """Uneven, with some readings lost and now and then a gap."""
    gaps = rng.uniform(0.6, 1.4, int(until / every) + 1) * every
    at = np.cumsum(gaps)
    at = at[rng.random(len(at)) > 0.05]
    if rng.random() < 0.3:
        begin = rng.uniform(0, until)
        at = at[(at < begin) | (at > begin + rng.uniform(2, 8) * every)]
    return at


def _read(rng: Rng, kind: str, minutes: Array, row: Array, at: Array) -> Array:
    return (read_weights if kind in WEIGHED else _read_degrees)(rng, kind, minutes, row, at)


def weighed_every_min(kind: str) -> float:
    """How often somebody weighs."""
    return _EVERY_MIN[kind]


def read_weights(rng: Rng, kind: str, minutes: Array, row: Array, at: Array) -> Array:
    """What a scale shows, as shares of the first weight as it was weighed."""
    true = np.interp(at, minutes, row)
    share = 0.0025 if kind == "simmer" else 0.004
    read = true + rng.normal(0, share, len(at))
    read[0] = 1.0
    return np.round(read / 0.001) * 0.001


def _read_degrees(rng: Rng, _: str, minutes: Array, row: Array, at: Array) -> Array:
    return read_degrees(rng, minutes, row, at)


def read_degrees(rng: Rng, minutes: Array, row: Array, at: Array) -> Array:
    """What a thermometer shows: late by some seconds, with noise, rounded."""
    lag = rng.uniform(0.05, 0.25)
    slow = np.interp(np.maximum(at - lag, 0), minutes, row)
    noise, grain = rng.uniform(0.05, 0.25), rng.choice([0.1, 0.1, 0.5])
    return np.round((slow + rng.normal(0, noise, len(at))) / grain) * grain
