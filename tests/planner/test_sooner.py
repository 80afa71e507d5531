"""Generations in other turns, in kitchens for which a plan on time is known because it was made first."""

import pytest

from orchestrator.planner.generation import generate
from orchestrator.planner.lags import network
from orchestrator.planner.score import score
from orchestrator.planner.sooner import ROUNDS, RULE, STEPS_MIN, generations
from tests.planner.planted import planted
from tests.planner.verifier import faults


@pytest.mark.parametrize("seed", [0, 2, 3])
def test_generations_where_one_rule_is_late_come_to_be_on_time(seed: int) -> None:
    problem = planted(50, seed).problem
    first = generate(problem, network(problem), RULE)
    assert score(problem, first).late > 0

    found = list(generations(problem, first, lambda: False))

    assert 1 <= len(found) <= ROUNDS * len(STEPS_MIN)
    assert score(problem, found[-1]).late == 0
    assert faults(problem, found[-1]) == []


def test_generations_when_time_is_over_end_at_once() -> None:
    problem = planted(50, 0).problem
    first = generate(problem, network(problem), RULE)
    assert list(generations(problem, first, lambda: True)) == []


def test_generations_go_on_while_windows_are_broken_though_no_order_is_late() -> None:
    """Of this kitchen the fourth is on time with windows broken, from which search took 22 s of the processor."""
    problem = planted(50, 5).problem
    first = generate(problem, network(problem), RULE)
    found = [score(problem, schedule) for schedule in generations(problem, first, lambda: False)]

    assert [(one.late == 0, one.breaks == 0) for one in found].index((True, False)) < len(found) - 1
    assert (found[-1].unmet, found[-1].breaks, found[-1].late) == (0, 0, 0)
