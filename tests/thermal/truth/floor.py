"""What is left for anybody to find out about a pan on a hob: `python -m tests.thermal.truth.floor [COUNT] [PARTICLES]`.

An estimator that knows the simulator itself, its formulas and what it draws from which range, and asks which of all
runs that it might have drawn fit the readings so far (Bayes' rule by tempered particles: each is a run, lived to its
end; those that fit are kept, multiplied and moved). The middle of their ends has the least mean error that is to be had
from these readings; those that would never get there are left out, as are the curves that do not. Asked of first
cookings, and of cooks who know ring, pan, food, amount and their own habit exactly, as nobody learns it from any number
of runs.
"""

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from tests.thermal.truth.curves import Curve, curves
from tests.thermal.truth.kitchens import TARGET_C, Kitchens, kitchens_of, runs
from tests.thermal.truth.matter import Array, Rng
from tests.thermal.truth.scenes import Acts, heated
from tests.thermal.truth.score import LINES, naive_lines, score

SEED: Final = 7
_STEP_MIN: Final = 5.0 / 60.0
_MOVES: Final = 3
"""Of every particle at every temperature."""
_UNKNOWNS: Final = 16
HEAD = f"{'hob':34}{'curves':>8}{'MAE/min':>9}" + "".join(f"{'/ ' + name:>16}" for name in LINES)


@dataclass(frozen=True)
class Run:
    """What a particle says of one curve; arrays by particle."""

    heat: Array
    power: Array
    loss: Array
    start: Array
    acts: Acts
    lag: Array
    noise: Array


Draws = Callable[[Array], Run]
"""From even chances between 0 and 1, by particle and unknown, to runs."""


def _between(chance: Array, low: float, high: float) -> Array:
    return low + chance * (high - low)


def _acts_of(u: Array, other: bool) -> Acts:
    """As `scenes.hob` draws them, from the first nine columns."""
    turn, lid, pour = (_between(u[:, i], 2.5, 17.5) for i in range(3))
    often = 0.4 if other else 0.15
    cold = np.where(u[:, 6] < often, _between(u[:, 6] / often, 2.0, 7.0), 0.0)
    lids = _between(u[:, 4], 0.5, 1.6) * np.where(u[:, 5] < 0.5, 1.0, 1.5)
    turned = _between(u[:, 3], 0.75, 1.4) if other else _between(u[:, 3], 0.8, 1.25)
    return Acts(turn, turned, lid, lids, pour, cold, _between(u[:, 7], 0.2, 1.5))


def first_time(other: bool) -> Draws:
    """Any kitchen, any cook."""

    def draws(u: Array) -> Run:
        heat = _between(u[:, 8], 3400.0, 3900.0)
        power = _between(u[:, 9], 220.0, 340.0) * (_between(u[:, 10], 0.8, 1.5) if other else 1.0)
        loss, start = _between(u[:, 11], 0.9, 1.9), _between(u[:, 12], 12.0, 18.0)
        return Run(heat, power, loss, start, _acts_of(u, other), _lag(u), _noise(u))

    return draws


def known_kitchen(of: Kitchens, number: int, scale: float, other: bool) -> Draws:
    """One kitchen whose ring, pan, food and habit are known exactly; the amount is as weighed, ±3 %."""
    habit, hand_reach = of.habit, 0.15 if other else 0.1

    def draws(u: Array) -> Run:
        once, strange = _acts_of(u, other), u[:, 15] < 0.1

        def near(name: str, column: int, reach: float) -> Array:
            usual: Array = getattr(habit, name)[number] * (1.0 + reach * (2.0 * u[:, column] - 1.0))
            return np.where(strange, getattr(once, name), usual)

        acts = Acts(
            near("turn", 0, 0.25), near("turned", 3, 0.08), near("lid", 1, 0.25), near("lids", 4, 0.2),
            once.pour, once.cold, near("stir", 7, 0.35),
        )  # fmt: skip
        # The ±3 % of a bell curve, cut where one in a thousand lies.
        weighed = 1.0 + 0.03 * _bell(u[:, 8])
        heat = of.mass[number] * scale * weighed * of.per_kg[number]
        power = of.power[number] * (1.0 + hand_reach * (2.0 * u[:, 9] - 1.0))
        loss = np.full(len(u), of.loss[number])
        return Run(heat, power, loss, _between(u[:, 12], 12.0, 18.0), acts, _lag(u), _noise(u))

    return draws


def _bell(chance: Array) -> Array:
    """Normal deviates from even chances, by a table."""
    at: Array = np.linspace(-3.3, 3.3, 400)
    below = np.cumsum(np.exp(-0.5 * at * at))
    return np.interp(chance, below / below[-1], at)


def _lag(u: Array) -> Array:
    return _between(u[:, 13], 0.05, 0.25)


def _noise(u: Array) -> Array:
    """Of thermometer and rounding together."""
    return _between(u[:, 14], 0.05, 0.29)


def _lived(run: Run, until: float) -> tuple[Array, Array]:
    return heated(heat=run.heat, power=run.power, loss=run.loss, start=run.start, acts=run.acts, until=until)


def _fits(curve: Curve, run: Run) -> Array:
    """Logarithm of how likely the readings are, by particle."""
    _, rows = _lived(run, float(curve.minutes[-1]) + 2 * _STEP_MIN)
    place = np.maximum(curve.minutes[None, :] - run.lag[:, None], 0.0) / _STEP_MIN
    cell = np.minimum(place.astype(np.intp), rows.shape[1] - 2)
    particle = np.arange(len(rows))[:, None]
    low, high = rows[particle, cell], rows[particle, cell + 1]
    off = (low + (high - low) * (place - cell) - curve.values) / run.noise[:, None]
    likely: Array = -0.5 * (off * off).sum(axis=1) - len(curve.values) * np.log(run.noise)
    return likely


def ends(rng: Rng, curve: Curve, draws: Draws, particles: int) -> Array:
    """When runs that fit the readings are at the target: a sample, in minutes from the beginning."""
    u = rng.random((particles, _UNKNOWNS))
    likely, heat = _fits(curve, draws(u)), 0.0
    while heat < 1.0:
        heat, chance = _next_heat(likely, heat)
        keep = rng.choice(particles, particles, p=chance)
        u, likely = u[keep], likely[keep]
        spread = np.cov(u.T) + 1e-6 * np.eye(_UNKNOWNS)
        root = np.linalg.cholesky(spread)
        for move in range(_MOVES):
            # Long and short ones by turns; over the edge of what may be drawn it is mirrored.
            far = (0.6, 0.25, 0.08)[move % 3]
            moved = u + far * rng.standard_normal(u.shape) @ root.T
            moved = np.abs(moved) % 2.0
            moved = np.where(moved > 1.0, 2.0 - moved, moved)
            as_likely = _fits(curve, draws(moved))
            taken = np.log(rng.random(particles)) < heat * (as_likely - likely)
            u[taken], likely[taken] = moved[taken], as_likely[taken]
    minutes, rows = _lived(draws(u), 80.0)
    there = rows >= curve.target
    return np.where(there.any(axis=1), minutes[there.argmax(axis=1)], np.inf)


def _next_heat(likely: Array, heat: float) -> tuple[float, Array]:
    """The next temperature at which half of the particles still count, and their chances."""

    def chances(to: float) -> Array:
        weight: Array = np.exp((to - heat) * (likely - likely.max()))
        return weight / weight.sum()

    low, high = heat, 1.0
    if 1.0 / (chances(1.0) ** 2).sum() >= 0.5 * len(likely):
        return 1.0, chances(1.0)
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (middle, high) if 1.0 / (chances(middle) ** 2).sum() >= 0.5 * len(likely) else (low, middle)
    to = max(low, heat + 1e-7)
    return to, chances(to)


def row(name: str, given: Iterator[tuple[Curve, Draws]], particles: int) -> str:
    """One line of the table: the error of the middle of all ends that fit."""
    rng, mine, beside = np.random.default_rng(SEED), list[float](), [list[tuple[float, float]]() for _ in LINES]
    for curve, draws in given:
        left = curve.truth_min - (float(curve.minutes[-1]) if len(curve.minutes) else 0.0)
        if len(curve.minutes) < 4 or not np.isfinite(left):
            continue
        sample = ends(rng, curve, draws, particles)
        sample = sample[np.isfinite(sample)]
        if not len(sample):
            continue
        mine.append(abs(float(np.median(sample)) - float(curve.minutes[-1]) - left))
        for pairs, line in zip(beside, naive_lines(curve).values(), strict=True):
            if line is not None:
                pairs.append((mine[-1], abs(line - left)))
    shares = (np.mean(pairs, axis=0) for pairs in beside)
    told = "".join(f"{ours / line:>16.2f}" for ours, line in shares)
    return f"{name:34}{len(mine):>8}{np.mean(mine):>9.2f}{told}"


def _knowing(count: int, other: bool) -> Iterator[tuple[Curve, Draws]]:
    of = kitchens_of(count, 12, SEED, other=other)
    for number, curve in enumerate(runs(count, 12, SEED, other=other)):
        yield curve, known_kitchen(of, number, curve.scale, other)


def _ours(name: str, given: Iterator[Curve]) -> str:
    found = score(curve for curve in given if len(curve.minutes) >= 4 and np.isfinite(curve.truth_min))
    told = "".join(f"{ratio:>16.2f}" for ratio in found.ratios)
    return f"{name:34}{found.said:>8}{np.mean(found.errors):>9.2f}{told}"


def main() -> None:
    """Print the table."""
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    particles = int(sys.argv[2]) if len(sys.argv) > 2 else 800
    print(HEAD)
    for other in (False, True):
        star = " *" * other
        print(_ours("first time, ours" + star, curves("hob", many, SEED, other=other)), flush=True)
        print(_ours("after 12 runs, ours" + star, runs(many, 12, SEED, other=other)), flush=True)
    for other in (False, True):
        star = " *" * other
        first = ((curve, first_time(other)) for curve in curves("hob", many, SEED, other=other))
        print(row("first time, simulator known" + star, first, particles), flush=True)
        print(row("kitchen and habit known" + star, _knowing(many, other), particles), flush=True)


if __name__ == "__main__":
    assert TARGET_C == 82.0
    main()
