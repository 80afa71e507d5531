"""The balance solver against a reference optimiser, GLOP of OR-tools, on mixes made by chance."""

from collections.abc import Sequence

import numpy as np
import pytest
from ortools.linear_solver import pywraplp

from orchestrator.kitchen.shipped import shipped_ingredients
from orchestrator.thermal.mix import FIGURES, WEIGHT, row
from orchestrator.thermal.mix_balance import Pot, Wanted, balance, mixed

ROWS = {one.id: row(one.per_100g.model_dump(), usable=one.usable) for one in shipped_ingredients()}
SORTS = ("whole-milk", "double-cream", "skim-milk-powder", "sugar", "dextrose", "egg-yolk", "water", "honey", "damsons")


def glop(pot: Pot, wanted: Sequence[Wanted]) -> float | None:
    """The least priced change, or nothing if the ranges cannot be had; written from the ratios' definition."""
    solver = pywraplp.Solver.CreateSolver("GLOP")
    n, cost = len(pot.grams), solver.Objective()
    grams = [solver.NumVar(float(pot.least[i]), float(pot.most[i]), f"g{i}") for i in range(n)]
    for i in range(n):
        moved = solver.NumVar(0.0, solver.infinity(), f"m{i}")
        solver.Add(moved >= grams[i] - float(pot.grams[i]))
        solver.Add(moved >= float(pot.grams[i]) - grams[i])
        cost.SetCoefficient(moved, float(pot.price[i]))
    for one in wanted:
        ratio = FIGURES[one.figure]
        over, under = pot.rows @ ratio.over_low, pot.rows @ ratio.under_low
        value = sum(float(over[i]) * grams[i] for i in range(n))
        if one.least is not None:
            solver.Add(value >= one.least * sum(float(under[i]) * grams[i] for i in range(n)))
        if one.most is not None:
            solver.Add(value <= one.most * sum(float(under[i]) * grams[i] for i in range(n)))
    weights = pot.rows @ WEIGHT
    weight, now = sum(float(weights[i]) * grams[i] for i in range(n)), float(weights @ pot.grams)
    solver.Add(weight == now if pot.same_weight else weight >= 0.5 * now)
    cost.SetMinimization()
    return float(cost.Value()) if solver.Solve() == pywraplp.Solver.OPTIMAL else None


def by_chance(seed: int) -> tuple[Pot, list[Wanted]]:
    """A mix of four to nine ingredients, some fixed, with one to four ranges, about half of which can be had."""
    luck = np.random.default_rng(seed)
    chosen = luck.choice(SORTS, size=int(luck.integers(4, len(SORTS) + 1)), replace=False)
    grams = luck.uniform(50.0, 3000.0, len(chosen)).round(0)
    stays = luck.random(len(chosen)) < 0.25
    pot = Pot(
        grams=grams,
        rows=np.array([ROWS[str(name)] for name in chosen]),
        least=np.where(stays, grams, 0.0),
        most=np.where(stays, grams, 4.0 * grams.sum()),
        price=luck.choice([1.0, 4.0], len(chosen)),
        same_weight=bool(luck.random() < 0.6),
    )
    now = mixed(pot, pot.grams.tolist())
    wanted = []
    for figure in luck.choice(sorted(FIGURES), size=int(luck.integers(1, 5)), replace=False):
        middle = FIGURES[str(figure)].of(now).low * float(luck.uniform(0.6, 1.5)) + float(luck.uniform(0.0, 1.0))
        wide = float(luck.uniform(0.02, 0.2)) * middle
        ends = [(middle - wide, middle + wide), (middle - wide, None), (None, middle + wide)][int(luck.integers(0, 3))]
        wanted.append(Wanted(str(figure), *ends))
    return pot, wanted


SEEDS = range(300)


@pytest.fixture(scope="module")
def answers() -> list[tuple[Pot, list[Wanted], float | None]]:
    return [(pot, wanted, glop(pot, wanted)) for pot, wanted in map(by_chance, SEEDS)]


def test_chance_makes_both_mixes_that_can_be_balanced_and_mixes_that_cannot(
    answers: list[tuple[Pot, list[Wanted], float | None]],
) -> None:
    can = sum(least is not None for _, _, least in answers)
    assert 60 <= can <= 240


def test_least_change_is_that_of_the_reference_optimiser(
    answers: list[tuple[Pot, list[Wanted], float | None]],
) -> None:
    for seed, (pot, wanted, least) in zip(SEEDS, answers, strict=True):
        found = balance(pot, wanted)
        assert (found.grams is None) == (least is None), seed
        if found.grams is None or least is None:
            continue
        assert found.change == pytest.approx(least, rel=1e-5, abs=1e-2), seed
        parts = mixed(pot, found.grams.tolist())
        for one in wanted:
            value = FIGURES[one.figure].of(parts)
            assert one.least is None or value.low >= one.least - 1e-4 * max(1.0, one.least), (seed, one)
            assert one.most is None or value.high <= one.most + 1e-4 * max(1.0, one.most), (seed, one)
        if pot.same_weight:
            assert parts @ WEIGHT == pytest.approx(mixed(pot, pot.grams.tolist()) @ WEIGHT, rel=1e-6)
        assert (found.grams >= pot.least - 1e-9).all()
        assert (found.grams <= pot.most + 1e-9).all()


def test_conflict_cannot_be_had_together_and_none_of_it_could_be_left_out(
    answers: list[tuple[Pot, list[Wanted], float | None]],
) -> None:
    seen = 0
    for seed, (pot, wanted, least) in zip(SEEDS, answers, strict=True):
        if least is not None:
            continue
        found = balance(pot, wanted)
        free = Pot(pot.grams, pot.rows, pot.least, pot.most, pot.price, found.weight_conflicts)
        ranges = [wanted[number] for number in found.conflict]
        assert ranges, seed
        assert glop(free, ranges) is None, seed
        for left_out in range(len(ranges)):
            assert glop(free, [*ranges[:left_out], *ranges[left_out + 1 :]]) is not None, seed
        seen += 1
    assert seen >= 60


def test_nearest_misses_the_ranges_and_stays_within_what_may_be_changed() -> None:
    pot, _ = by_chance(0)
    fixed = Pot(pot.grams, pot.rows, pot.grams * 0.5, pot.grams * 2.0, pot.price, pot.same_weight)
    found = balance(fixed, [Wanted("water", 99.0, None), Wanted("milk_fat", 60.0, None)])
    assert found.grams is None
    assert found.nearest is not None
    assert (found.nearest >= fixed.least - 1e-6).all()
    assert (found.nearest <= fixed.most + 1e-6).all()


@pytest.mark.parametrize("same_weight", [True, False])
def test_nearest_misses_less_than_what_is_there_and_keeps_its_weight_or_half_of_it(same_weight: bool) -> None:
    pot, _ = by_chance(0)
    nothing = np.zeros(len(pot.grams))
    fixed = Pot(pot.grams, pot.rows, nothing, pot.grams * 2.0, pot.price, same_weight)
    found = balance(fixed, [Wanted("water", 99.0, None), Wanted("milk_fat", 60.0, None)]).nearest
    assert found is not None

    def miss(grams: list[float]) -> float:
        """In parts of each range's own figure."""
        parts = mixed(fixed, grams)
        return sum(
            max(0.0, 1.0 - FIGURES[name].of(parts).low / least) for name, least in (("water", 99.0), ("milk_fat", 60.0))
        )

    assert miss(found.tolist()) < miss(pot.grams.tolist()) - 0.01
    share = (mixed(fixed, found.tolist()) @ WEIGHT) / (mixed(fixed, pot.grams.tolist()) @ WEIGHT)
    assert share == pytest.approx(1.0 if same_weight else 0.5, abs=1e-6)


def test_mix_that_is_within_its_ranges_is_left_alone() -> None:
    pot, _ = by_chance(1)
    fat = FIGURES["fat"].of(mixed(pot, pot.grams.tolist())).low
    found = balance(pot, [Wanted("fat", fat - 1.0, fat + 1.0)])
    assert found.change == pytest.approx(0.0, abs=1e-6)
    assert found.grams is not None
    assert found.grams.tolist() == pytest.approx(pot.grams.tolist())
