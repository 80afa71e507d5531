"""Simulated runs against closed forms, and against a second simulator that goes minute by minute."""

import numpy as np
import pytest
from scipy import stats

from orchestrator.planner.risk_net import NEVER, Net, Piece, Wait
from orchestrator.planner.risk_run import simulate
from orchestrator.planner.risk_spread import cumulative, draw
from tests.planner.risk_nets import ALWAYS, any_net, chain
from tests.planner.risk_reference import walk_through

RUNS = 20_000
SPREADS = [(15, 20, 30), (35, 45, 65), (50, 75, 110), (28, 35, 50)]


def lengths_of(net: Net, runs: int, seed: int = 1) -> np.ndarray:
    chance = np.random.default_rng(seed)
    return np.stack([draw(step.spread, chance.random(runs)) for step in net.steps], axis=1)


def share_of(spread: tuple[int, int, int]) -> np.ndarray:
    """The chance of each whole minute from 0 on, from scipy's beta distribution (exponents: PERT's, peak at usual)."""
    low, usual, high = spread
    width = high - low
    beta = stats.beta(1 + 4 * (usual - low) / width, 1 + 4 * (high - usual) / width, loc=low, scale=width)
    minutes = np.arange(high + 1)
    return np.diff(beta.cdf(np.concatenate(([-1], minutes + 0.5))))


def sum_of(spreads: list[tuple[int, int, int]]) -> np.ndarray:
    """The chance of each whole minute of a sum, by numpy's convolution."""
    total = np.ones(1)
    for spread in spreads:
        total = np.convolve(total, share_of(spread))
    return total


def moments(share: np.ndarray) -> tuple[float, float]:
    minutes = np.arange(len(share))
    mean = float(share @ minutes)
    return mean, float(share @ (minutes - mean) ** 2)


def test_serial_chain_has_mean_and_variance_of_the_sum_of_its_spreads() -> None:
    net = chain(SPREADS)
    ends = simulate(net, lengths_of(net, RUNS)).end[:, -1]
    # Independent spreads: means and variances add.
    each = [moments(share_of(spread)) for spread in SPREADS]
    mean, variance = sum(m for m, _ in each), sum(v for _, v in each)
    assert abs(ends.mean() - mean) < 4 * (variance / RUNS) ** 0.5
    assert abs(ends.var() / variance - 1) < 0.05
    # PERT's own mean (shortest + 4 usual + longest) / 6: rounding to minutes moves it by little.
    assert mean == pytest.approx(sum((a + 4 * m + b) / 6 for a, m, b in SPREADS), abs=0.1)


@pytest.mark.parametrize("due", [165, 175, 185, 200])
def test_chance_of_a_serial_chain_is_that_of_the_convolution(due: int) -> None:
    net = chain(SPREADS)
    told = float((simulate(net, lengths_of(net, RUNS)).end[:, -1] <= due).mean())
    exact = float(sum_of(SPREADS)[: due + 1].sum())
    assert 0.02 < exact < 0.999
    assert abs(told - exact) < 4 * (exact * (1 - exact) / RUNS) ** 0.5


def test_the_later_of_two_parallel_chains_is_the_product_of_both() -> None:
    first, second = chain(SPREADS[:2]), chain(SPREADS[2:])
    net = Net(0, steps=first.steps, pieces=[Piece(i, 0) for i in range(5)])
    net.waits = [Wait(0, 1), Wait(2, 3), Wait(1, 4), Wait(3, 4)]
    lengths = np.concatenate((lengths_of(first, RUNS, 1), lengths_of(second, RUNS, 2)), axis=1)
    lengths = np.concatenate((lengths, np.zeros((RUNS, 1), np.int32)), axis=1)
    ends = simulate(net, lengths).end[:, 4]
    for due in (95, 110, 125):
        exact = float(sum_of(SPREADS[:2])[: due + 1].sum() * sum_of(SPREADS[2:])[: due + 1].sum())
        assert abs(float((ends <= due).mean()) - exact) < 4 * (exact * (1 - exact) / RUNS) ** 0.5 + 1e-9


@pytest.mark.parametrize("seed", range(120))
def test_runs_side_by_side_are_those_of_a_kitchen_walked_through_minute_by_minute(seed: int) -> None:
    net, lengths = any_net(seed)
    runs = simulate(net, np.array(lengths, np.int32))
    for row, own in enumerate(lengths):
        start, end = walk_through(net, own, 2600)
        assert runs.start[row].tolist() == start
        assert runs.end[row].tolist() == end


def test_random_nets_meet_every_rule() -> None:
    """The comparison above would prove little if the nets were all alike."""
    nets = [any_net(seed)[0] for seed in range(120)]
    pieces = [piece for net in nets for piece in net.pieces]
    assert sum(p.end_of is not None for p in pieces) > 50
    assert sum(p.hands == 2 for p in pieces) > 50
    assert sum(len(p.machines) == 2 for p in pieces) > 50
    assert sum(p.room is not None for p in pieces) > 50
    assert sum(p.begun is not None for p in pieces) > 20
    assert sum(wait.closes is not None for net in nets for wait in net.waits) > 50
    late = [simulate(net, np.array([[p.usual_min for p in net.pieces]], np.int32)) for net in nets]
    assert sum(int(run.start[0, i] > p.planned) for run, net in zip(late, nets, strict=True)
               for i, p in enumerate(net.pieces)) > 200  # fmt: skip


def test_work_waits_for_a_shift_that_is_long_enough_and_is_seen_through_into_the_break() -> None:
    net = Net(0, working=(((0, 60), (70, 200)),))
    net.pieces = [Piece(0, 40, hands=1, attended_min=20, throughout=True, skilled=(0,), usual_min=20),
                  Piece(1, 50, hands=1, attended_min=10, throughout=True, skilled=(0,), usual_min=10)]  # fmt: skip
    runs = simulate(net, np.array([[20, 10], [25, 10], [5, 10]], np.int32))
    # Usual: 40 to 60, the second no longer fits before the break. Longer: into the break. Shorter: it fits.
    assert runs.start.tolist() == [[40, 70], [40, 70], [40, 50]]
    assert runs.end.tolist() == [[60, 80], [65, 80], [45, 60]]


def test_another_machine_of_the_kind_takes_over_when_it_is_free_sooner() -> None:
    net = Net(0, capacity=(None, None), stops=((), ()))
    net.pieces = [Piece(0, 0, machines=(0, 1), usual_min=30), Piece(1, 30, machines=(0, 1), usual_min=30)]
    assert simulate(net, np.array([[50, 30]], np.int32)).start.tolist() == [[0, 30]]
    net.pieces[1].machines = (0,)
    assert simulate(net, np.array([[50, 30]], np.int32)).start.tolist() == [[0, 50]]


def test_work_that_must_follow_soon_keeps_its_distance_when_the_work_before_ends_early() -> None:
    net = Net(0, pieces=[Piece(0, 0), Piece(1, 40)], waits=[Wait(0, 1, closes=5)])
    assert simulate(net, np.array([[20, 10], [50, 10]], np.int32)).start.tolist() == [[0, 25], [0, 50]]
    net.waits = [Wait(0, 1)]
    assert simulate(net, np.array([[20, 10], [50, 10]], np.int32)).start.tolist() == [[0, 40], [0, 50]]


def test_work_for_which_nobody_is_there_never_begins() -> None:
    net = Net(0, working=(((0, 60),),))
    net.pieces = [Piece(0, 50, hands=1, attended_min=20, skilled=(0,), usual_min=20)]
    assert simulate(net, np.array([[20]], np.int32)).start.tolist() == [[NEVER]]
    net.working = (ALWAYS,)
    assert simulate(net, np.array([[20]], np.int32)).start.tolist() == [[50]]


@pytest.mark.parametrize("spread", [*SPREADS, (10, 10, 40), (10, 40, 40), (0, 0, 5)])
def test_spread_is_scipys_beta_rounded_to_minutes(spread: tuple[int, int, int]) -> None:
    assert np.allclose(cumulative(*spread), np.cumsum(share_of(spread))[spread[0] :], atol=1e-12)
    drawn = draw(spread, np.random.default_rng(3).random(RUNS))
    assert spread[0] <= drawn.min()
    assert drawn.max() <= spread[2]
    assert stats.chisquare(*_binned(drawn, share_of(spread))).pvalue > 1e-4


def _binned(drawn: np.ndarray, share: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Counts and what is expected, for minutes that are expected often enough for a chi-square test."""
    often = share * len(drawn) >= 10
    counts = np.bincount(drawn, minlength=len(share))
    told, wanted = np.append(counts[often], counts[~often].sum()), np.append(share[often], share[~often].sum())
    kept = wanted * len(drawn) > 1e-6
    return told[kept], (wanted * len(drawn))[kept]


def test_remaining_minutes_are_drawn_among_lengths_not_yet_passed() -> None:
    share = share_of((35, 45, 65))
    drawn = draw((35, 45, 65), np.random.default_rng(4).random(RUNS), spent=50)
    left = np.where(np.arange(len(share)) >= 50, share, 0.0)
    mean, variance = moments(left / left.sum())
    assert drawn.min() == 50
    assert abs(drawn.mean() - mean) < 4 * (variance / RUNS) ** 0.5


def test_step_that_has_outlasted_its_longest_ends_now() -> None:
    assert draw((35, 45, 65), np.array([0.1, 0.9]), spent=80).tolist() == [80, 80]
    assert draw((20, 20, 20), np.array([0.1, 0.9])).tolist() == [20, 20]
