"""What windows leave to jobs that are placed afresh, worked out by hand; and a sound plan lies inside it."""

import pytest

from orchestrator.core.models import WindowClass
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.limits import Limit, limits
from orchestrator.planner.problem import Place, Precedence
from orchestrator.planner.score import score
from tests.planner.problems import joined, kitchen, posed, stay, work


def test_limits_between_two_known_jobs() -> None:
    # Mixed from 0 to 10 and churned from 100 on. Chilled (30 min) within 20 min of mixing, then aged for 40 to 60.
    jobs = [
        work("mix", 10),
        work("chill", 30, after=(Precedence(0, 5, 20, WindowClass.SAFETY),)),
        stay("age", 1, 40, 60, stay_window=WindowClass.QUALITY),
        work("churn", 10, after=joined(2)),
    ]
    problem = posed(jobs, horizon=500)
    known = {0: Place(0, 10), 3: Place(100, 110)}
    # By safety the chill starts from 15 to 30; that the age fills the time to 100 makes it end from 40 to 60.
    expected = {1: Limit([15, 30], [45, 60]), 2: Limit([45, 60], [100, 100])}
    assert limits(problem, known, [1, 2], slack=False) == expected
    # A quality window that may be missed limits nothing; the safety window still does.
    assert limits(problem, {0: Place(0, 10)}, [1, 2], slack=True) == {
        1: Limit([15, 30], [45, 60]),
        2: Limit([45, 60], [45, 500]),
    }


@pytest.mark.parametrize("seed", range(3))
def test_places_of_a_sound_plan_lie_within_the_limits(seed: int) -> None:
    problem = kitchen(8, seed)
    guess = first_guess(problem)
    places = {i: place for i, place in enumerate(guess.places) if place is not None}
    free = [i for i in places if i % 3]
    known = {i: place for i, place in places.items() if i not in free}
    found = limits(problem, known, free, slack=score(problem, guess).breaks > 0)
    assert sorted(found) == free
    for index, limit in found.items():
        assert limit.start[0] <= places[index].start <= limit.start[1]
        assert limit.end[0] <= places[index].end <= limit.end[1]
