"""The least change of a mix that brings chosen figures into chosen ranges, or which ranges cannot be had together."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from orchestrator.thermal.mix import FIGURES, WEIGHT, Parts

Floats = NDArray[np.float64]
_SLACK: Final = 1e-9
"""A share of a percent by which a range may be missed: arithmetic of the solver."""
_HINT: Final = 1e-3
"""What a change counts against a miss, where ranges cannot be had."""
LIGHTEST: Final = 0.5
"""Share of its weight that a mix keeps at least, where it need not keep all."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """A range for one figure; an end that is left out is open."""

    figure: str
    """One of `FIGURES`."""
    least: float | None = None
    most: float | None = None


@dataclass(frozen=True, slots=True)
class Pot:
    """What may be changed."""

    grams: Floats
    """Of each ingredient now, shape (n,)."""
    rows: Floats
    """What a gram of each leaves in the mix, shape (n, kinds)."""
    least: Floats
    """Grams of each that there must be; equal to ``most`` where it stays as it is."""
    most: Floats
    price: Floats
    """What a gram's change of each counts, above 0."""
    same_weight: bool
    """Whether the mix has to weigh what it weighs now; else no less than half of it: an empty pot fits every range."""


@dataclass(frozen=True, slots=True)
class Balance:
    """The answer."""

    grams: Floats | None
    """Of each, at the least change; nothing if the ranges cannot be had."""
    change: float
    """What it counts."""
    conflict: tuple[int, ...] = ()
    """Which of the ranges cannot be had together, by number; without any one of them the others can."""
    weight_conflicts: bool = False
    """Whether keeping the weight is part of that."""
    nearest: Floats | None = None
    """Of each, where the ranges are missed least."""


def balance(pot: Pot, wanted: Sequence[Wanted]) -> Balance:
    """The least priced change of the chosen ingredients.

    What counts is the sum of what each ingredient is moved by, so that few are moved and the rest stay. All figures are
    ratios of sums: ranges for them are linear, and what is found is the least there is.

    Args:
        pot: What there is, and how far it may be changed.
        wanted: Ranges; each must hold whatever an unknown ingredient is.

    Returns:
        The grams, or a set of ranges that cannot be had together, none of which could be left out, and the grams that
        miss them least.
    """
    found = _solve(pot, wanted, pot.same_weight)
    if found is not None:
        grams = np.clip(found, pot.least, pot.most)
        return Balance(grams, float(pot.price @ np.abs(grams - pot.grams)))
    conflict, weight = _irreducible(pot, wanted)
    return Balance(None, 0.0, conflict, weight, _nearest(pot, wanted))


def _limits(pot: Pot, wanted: Sequence[Wanted]) -> tuple[Floats, list[int]]:
    """Rows of which each times the grams may be no more than nothing, in percent of the mix; and whose each is."""
    made, whose = [], []
    for number, one in enumerate(wanted):
        figure = FIGURES[one.figure]
        if one.most is not None:
            made.append(pot.rows @ (figure.over_high - (one.most + _SLACK) * figure.under_high))
            whose.append(number)
        if one.least is not None:
            made.append(pot.rows @ ((one.least - _SLACK) * figure.under_low - figure.over_low))
            whose.append(number)
    return np.array(made).reshape(-1, len(pot.grams)), whose


def _solve(pot: Pot, wanted: Sequence[Wanted], same_weight: bool, priced: bool = True) -> Floats | None:
    """Grams at the least change within the ranges; nothing if there are none.

    Variables are what is added and what is taken away, each above nothing, in shares of the whole.
    """
    scale, n = max(float(pot.grams.sum()), 1e-9), len(pot.grams)
    rows, weights = _limits(pot, wanted)[0], pot.rows @ WEIGHT
    over = -(rows @ pot.grams) / scale
    if not same_weight:
        rows = np.vstack([rows, -weights])
        over = np.append(over, (1.0 - LIGHTEST) * float(weights @ pot.grams) / scale)
    cost = np.concatenate([pot.price, pot.price]) if priced else np.zeros(2 * n)
    answer = linprog(
        cost,
        A_ub=np.hstack([rows, -rows]) if len(rows) else None,
        b_ub=over if len(rows) else None,
        A_eq=np.concatenate([weights, -weights])[None, :] if same_weight else None,
        b_eq=[0.0] if same_weight else None,
        bounds=_moves(pot, scale),
        method="highs",
    )
    if answer.status != 0:
        return None
    return np.asarray(pot.grams + (answer.x[:n] - answer.x[n:]) * scale, dtype=float)


def _irreducible(pot: Pot, wanted: Sequence[Wanted]) -> tuple[tuple[int, ...], bool]:
    """Ranges that cannot be had together, taken down one by one until each is needed for it."""
    weight = pot.same_weight and _solve(pot, wanted, same_weight=False, priced=False) is not None
    kept = list(range(len(wanted)))
    for number in range(len(wanted)):
        without = [wanted[other] for other in kept if other != number]
        if _solve(pot, without, weight, priced=False) is None:
            kept.remove(number)
    return tuple(kept), weight


def _nearest(pot: Pot, wanted: Sequence[Wanted]) -> Floats | None:
    """Grams that miss the ranges least, in parts of each range's own figure; among like ones, those of less change."""
    scale, n = max(float(pot.grams.sum()), 1e-9), len(pot.grams)
    rows, whose = _limits(pot, wanted)
    sizes = np.array([max(abs(wanted[i].least or 0.0), abs(wanted[i].most or 0.0), 1e-6) for i in whose])
    rows = rows / sizes[:, None]
    weights, misses = pot.rows @ WEIGHT, len(rows)
    over, beyond = np.hstack([rows, -rows, -np.eye(misses)]), -(rows @ pot.grams) / scale
    both = np.concatenate([weights, -weights, np.zeros(misses)])[None, :]
    if not pot.same_weight:
        over = np.vstack([over, -both])
        beyond = np.append(beyond, (1.0 - LIGHTEST) * float(weights @ pot.grams) / scale)
    answer = linprog(
        np.concatenate([_HINT * pot.price, _HINT * pot.price, np.ones(misses)]),
        A_ub=over,
        b_ub=beyond,
        A_eq=both if pot.same_weight else None,
        b_eq=[0.0] if pot.same_weight else None,
        bounds=[*_moves(pot, scale), *((0.0, None) for _ in range(misses))],
        method="highs",
    )
    if answer.status != 0:
        return None
    grams = pot.grams + (answer.x[:n] - answer.x[n : 2 * n]) * scale
    return np.asarray(np.clip(grams, pot.least, pot.most), dtype=float)


def _moves(pot: Pot, scale: float) -> list[tuple[float, float]]:
    """How far each may be added to, and then taken from, in shares of the whole."""
    return [
        *((0.0, max(most - now, 0.0) / scale) for now, most in zip(pot.grams, pot.most, strict=True)),
        *((0.0, max(now - least, 0.0) / scale) for now, least in zip(pot.grams, pot.least, strict=True)),
    ]


def pot(
    *,
    grams: Sequence[float],
    rows: Sequence[Parts],
    least: Sequence[float],
    most: Sequence[float],
    price: Sequence[float],
    same_weight: bool,
) -> Pot:
    """A pot from plain numbers, for those that know no arrays."""
    now, low, high, cost = (np.array(values, dtype=float) for values in (grams, least, most, price))
    return Pot(now, np.array(rows, dtype=float), low, high, cost, same_weight)


def mixed(what: Pot, grams: Sequence[float]) -> Parts:
    """Grams by kind of so much of each."""
    return np.asarray(np.asarray(grams, dtype=float) @ what.rows, dtype=float)
