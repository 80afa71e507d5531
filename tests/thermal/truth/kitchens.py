"""The same recipe on the same ring in the same pan, again and again: what is the cook's own differs from run to run."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from orchestrator.thermal.estimates import PaceRecorder
from orchestrator.thermal.estimates.pace import Bands
from tests.thermal.truth.curves import Curve, read_degrees, uneven_instants
from tests.thermal.truth.matter import Array, Rng
from tests.thermal.truth.scenes import Acts, heated

TARGET_C: Final = 82.0
_USUAL_MIN: Final = 25.0
_HAND: Final = 0.1
"""The ring is set by hand: by so much more or less power; half as much again in other kitchens."""


@dataclass(frozen=True)
class Kitchens:
    """What stays the same in each: food, ring, pan, and the cook's habit."""

    mass: Array
    per_kg: Array
    power: Array
    loss: Array
    habit: Acts

    def only(self, which: Array) -> "Kitchens":
        """Some of them."""
        habit = Acts(**{name: value[which] for name, value in vars(self.habit).items()})
        return Kitchens(self.mass[which], self.per_kg[which], self.power[which], self.loss[which], habit)


def _acts(rng: Rng, count: int, other: bool) -> Acts:
    """As the curves of `hob` have them."""
    turn, lid, pour = (rng.uniform(0.1, 0.7, count) * _USUAL_MIN for _ in range(3))
    turned = rng.uniform(0.75, 1.4, count) if other else rng.uniform(0.8, 1.25, count)
    lids = rng.uniform(0.5, 1.6, count) * np.where(rng.random(count) < 0.5, 1, 1.5)
    cold = np.where(rng.random(count) < (0.4 if other else 0.15), rng.uniform(2, 7, count), 0.0)
    return Acts(turn, turned, lid, lids, pour, cold, rng.uniform(0.2, 1.5, count))


def _kitchens(rng: Rng, count: int, other: bool) -> Kitchens:
    """Those whose recipe gets there within an hour as they usually cook it: no other would be cooked again."""
    many = 2 * count
    mass, per_kg = rng.uniform(2, 6, many), rng.uniform(3400, 3900, many)
    power = mass * rng.uniform(220, 340, many) * (rng.uniform(0.8, 1.5, many) if other else 1.0)
    drawn = Kitchens(mass, per_kg, power, mass * rng.uniform(0.9, 1.9, many), _acts(rng, many, other))
    acts = Acts(**vars(drawn.habit) | {"cold": np.zeros(many)})
    minutes, rows = heated(heat=mass * per_kg, power=power, loss=drawn.loss, start=np.full(many, 15.0), acts=acts)
    there = (rows[:, minutes <= 60.0] >= TARGET_C).any(axis=1)
    return drawn.only(np.flatnonzero(there)[:count])


def _run(rng: Rng, of: Kitchens, other: bool, calm: float, free: bool) -> tuple[Array, Array, Array]:
    """One run in each kitchen: scale of the batch, minutes, true values.

    Args:
        rng: Chance.
        of: The kitchens.
        other: Wider.
        calm: 1 for the ordinary spread of a cook, less for a steadier one.
        free: No habit at all: what is done is drawn anew, as widely as between kitchens.
    """
    count, habit, once = len(of.mass), of.habit, _acts(rng, len(of.mass), other)
    scale = rng.choice([0.75, 1, 1, 1, 1.25, 1.5] if other else [0.8, 1, 1, 1, 1.25], count)
    mass = of.mass * scale * rng.normal(1, 0.03, count)
    # One run in ten goes as if somebody else stood there.
    strange = (rng.random(count) < 0.1) | free

    def near(usual: Array, reach: float, otherwise: Array) -> Array:
        return np.where(strange, otherwise, usual * (1 + calm * rng.uniform(-reach, reach, count)))

    acts = Acts(
        turn=near(habit.turn, 0.25, once.turn), turned=near(habit.turned, 0.08, once.turned),
        lid=near(habit.lid, 0.25, once.lid), lids=near(habit.lids, 0.2, once.lids),
        pour=once.pour, cold=once.cold, stir=near(habit.stir, 0.35, once.stir),
    )  # fmt: skip
    hand = 1 + calm * (1.5 * _HAND if other else _HAND) * rng.uniform(-1, 1, count)
    start = rng.uniform(12, 18, count)
    minutes, rows = heated(heat=mass * of.per_kg, power=of.power * hand, loss=of.loss, start=start, acts=acts)
    return scale, minutes, rows


def _recorded(rng: Rng, minutes: Array, row: Array) -> Bands:
    """What is kept of a run that was read until it was there."""
    there = row >= TARGET_C
    at = uneven_instants(rng, 0.5, float(minutes[there.argmax()] if there.any() else minutes[-1]))
    recorder = PaceRecorder(TARGET_C)
    for minute, celsius in zip(at.tolist(), read_degrees(rng, minutes, row, at).tolist(), strict=True):
        recorder.fold(minute, celsius)
    return recorder.bands() if there.any() else ()


def _chance(earlier: int, seed: int, *, other: bool, free: bool) -> Rng:
    return np.random.default_rng([seed, int(other), earlier, int(free), 77])


def kitchens_of(count: int, earlier: int, seed: int, *, other: bool = False) -> Kitchens:
    """The kitchens of `runs`, in the same order."""
    return _kitchens(_chance(earlier, seed, other=other, free=False), count, other)


def runs(
    count: int, earlier: int, seed: int, *, other: bool = False, calm: float = 1.0, free: bool = False,
    moved: bool = False,
) -> Iterator[Curve]:  # fmt: skip
    """One more run in each of so many kitchens, with what earlier ones showed.

    Args:
        count: Kitchens.
        earlier: Runs before this one; those that never got there show nothing.
        seed: Of chance.
        other: Kitchens of other sizes, strengths and habits than the intervals were fitted to.
        calm: See `_run`.
        free: See `_run`.
        moved: Ring and pan were replaced since: the earlier runs are those of another kitchen.
    """
    rng = _chance(earlier, seed, other=other, free=free)
    of = _kitchens(rng, count, other)
    count = len(of.mass)
    known: list[list[tuple[Bands, float]]] = [[] for _ in range(count)]
    for _ in range(earlier):
        scale, minutes, rows = _run(rng, of, other, calm, free)
        for number in range(count):
            known[number].append((_recorded(rng, minutes, rows[number]), float(scale[number])))
    scale, minutes, rows = _run(rng, of, other, calm, free)
    met = rows >= TARGET_C
    truths = np.where(met.any(axis=1), minutes[met.argmax(axis=1)], np.inf)
    shortest, usual, longest = np.quantile(np.minimum(truths, minutes[-1]), (0.1, 0.5, 0.9)).tolist()
    for number in range(count):
        truth = float(truths[number])
        at = uneven_instants(rng, 0.5, float(minutes[-1]))
        asked = float(rng.uniform(0.12, 0.9) * min(truth, float(minutes[-1])))
        at = at[at <= asked]
        values = read_degrees(rng, minutes, rows[number], at)
        seen = tuple(known[number - 1 if moved else number])
        yield Curve("hob", at, values, TARGET_C, truth, asked, shortest, usual, longest, float(scale[number]), seen)
