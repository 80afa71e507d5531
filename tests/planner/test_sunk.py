"""Lateness that no plan can save is none that a search goes after: by hand, in minutes.

What is sunk is left out of a decision: common practice of decisions; no source is cited.
"""

from dataclasses import replace

import pytest

from orchestrator.planner import repair as repairing
from orchestrator.planner.greedy_ledger import Ledger
from orchestrator.planner.lags import network
from orchestrator.planner.placer import placed_again
from orchestrator.planner.problem import Due, Fixed, Machine, Place, Problem, Schedule
from orchestrator.planner.score import savable, score, sunk
from tests.planner.problems import posed, work

NOW = 2000


def late(*, handed_over: bool = False) -> tuple[Problem, Schedule]:
    """Minute 2000: the first order was due at 560 and is done at 2030 (or was, at 1000), the second, due at 2060, at
    2090."""
    first = Fixed(970, 1000, 0, begun=True) if handed_over else None
    jobs = [work("A.make", 30, machines=(0,), fixed=first), work("B.make", 60, machines=(0,))]
    dues = (Due("A", (0,), 560, weight=2), Due("B", (1,), 2060))
    places = (Place(970, 1000, 0) if handed_over else Place(2000, 2030, 0), Place(2030, 2090, 0))
    problem = posed(jobs, horizon=5000, now=NOW, machines=(Machine("hob"),), dues=dues)
    return replace(problem, previous=places), Schedule(places)


def test_of_an_order_past_its_time_only_what_comes_from_now_on_can_be_saved() -> None:
    problem, schedule = late()
    # 1470 min late, of which 1440 had passed by now.
    assert (sunk(problem, 0, 1470), sunk(problem, 1, 30)) == (1440, 0)
    value = score(problem, schedule)
    assert value.late == 2 * 1470 + 30
    assert savable(problem, schedule, value).late == 2 * 30 + 30


def test_order_that_was_handed_over_late_can_be_saved_nothing() -> None:
    problem, schedule = late(handed_over=True)
    assert sunk(problem, 0, 440) == 440
    assert savable(problem, schedule, score(problem, schedule)).late == 30


@pytest.mark.parametrize(
    ("handed_over", "worth"), [(False, [(0, 60), (1, 30)]), (True, [(1, 30)])], ids=["not yet", "handed over"]
)
def test_search_goes_around_orders_by_what_can_be_saved_of_them(
    handed_over: bool, worth: list[tuple[int, int]]
) -> None:
    """Before, the first had 98 of 99 tries, and the second, which could be in time, one."""
    problem, schedule = late(handed_over=handed_over)
    ledger = Ledger(placed_again(problem, network(problem), schedule))
    assert sorted(ledger.troubled()) == worth


def test_repair_of_a_plan_whose_only_late_order_is_handed_over_searches_for_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem, _ = late(handed_over=True)
    in_time = replace(problem, dues=(problem.dues[0], replace(problem.dues[1], due=3000)))
    searched = []
    monkeypatch.setattr(repairing, "_out_of_trouble", lambda *a, **k: searched.append(a) or a[1])
    assert repairing.repair(in_time).places[1] == Place(2030, 2090, 0)
    assert not searched
    repairing.repair(problem)
    assert searched
