"""The first guess, one rule at a time, in problems small enough to solve by hand."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from orchestrator.core.models import WindowClass
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.problem import (
    Due,
    Family,
    Fixed,
    Job,
    Machine,
    Portion,
    Precedence,
    Problem,
    Schedule,
    Worker,
)

ORIGIN = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
THROUGHOUT = (Portion("throughout", 0),)


def problem(*jobs: Job, due: int = 0, horizon: int = 3000, now: int = 0, **rest: Any) -> Problem:
    """Jobs of one order, the last of which is due; ``due=0`` asks for it as soon as possible."""
    return Problem(
        origin=ORIGIN,
        now=now,
        horizon=horizon,
        jobs=jobs,
        dues=(Due("A", (len(jobs) - 1,), due),),
        **rest,
    )


def work(name: str, minutes: int, **rest: Any) -> Job:
    return Job(name, minutes, minutes, **rest)


def stay(name: str, least: int, most: int, filled_by: int, **rest: Any) -> Job:
    link = Precedence(filled_by, 0, 0, WindowClass.SAFETY)
    return Job(name, least, most, stay=True, after=(link,), **rest)


def joined(stay_job: int) -> Precedence:
    return Precedence(stay_job, 0, 0, WindowClass.SAFETY)


def spans(schedule: Schedule) -> list[tuple[int, int] | None]:
    return [None if place is None else (place.start, place.end) for place in schedule.places]


def test_first_guess_max_lag_moves_the_first_job_later() -> None:
    # The one worker is away from 60 to 200; the second job may follow the first by 20 min at most.
    asked = problem(
        work("heat", 30),
        work("serve", 30, portions=THROUGHOUT, workers=(0,), after=(Precedence(0, 0, 20, WindowClass.SAFETY),)),
        workers=(Worker("w", ((0, 20), (200, 300))),),
    )
    (_, ended), (started, _) = spans(first_guess(asked))  # type: ignore[misc]
    assert (started, 0 <= started - ended <= 20) == (200, True)


def test_first_guess_no_wait_chain_runs_without_a_gap() -> None:
    chain = [work("a", 30), work("b", 40, after=(Precedence(0, 0, 0),)), work("c", 5, after=(Precedence(1, 0, 0),))]
    asked = problem(*chain, machines=(Machine("m", stops=((50, 100),)),))
    asked = replace(asked, jobs=(chain[0], replace(chain[1], machines=(0,)), chain[2]))
    # b does not fit before the stop (30 + 40 > 50), so the chain begins at 70.
    assert spans(first_guess(asked)) == [(70, 100), (100, 140), (140, 145)]


def test_first_guess_stay_joins_both_its_neighbours() -> None:
    asked = problem(work("cook", 40), stay("age", 100, 500, 0), work("churn", 20, after=(joined(1),)), due=400)
    (_, cooked), aged, (churned, _) = spans(first_guess(asked))  # type: ignore[misc]
    assert aged == (cooked, churned)
    assert 100 <= churned - cooked <= 500


def test_first_guess_store_holds_no_more_than_its_capacity() -> None:
    # Two stays of 60 in a store of 100, each at least 50 long: they cannot overlap.
    asked = problem(
        work("fill 1", 10),
        stay("stay 1", 50, 500, 0, machines=(0,), load=60),
        work("take 1", 10, after=(joined(1),)),
        work("fill 2", 10),
        stay("stay 2", 50, 500, 3, machines=(0,), load=60),
        work("take 2", 10, after=(joined(4),)),
        machines=(Machine("fridge", capacity=100, shared=True),),
    )
    asked = replace(asked, dues=(Due("A", (2,), 100), Due("B", (5,), 100)))
    places = first_guess(asked).places
    first, second = sorted((p.start, p.end) for p in (places[1], places[4]) if p is not None)
    assert first[1] <= second[0]


def test_first_guess_one_machine_does_one_job_at_a_time() -> None:
    jobs = (work("a", 30, machines=(0,)), work("b", 30, machines=(0,)))
    asked = replace(problem(*jobs, machines=(Machine("hob"),)), dues=(Due("A", (0, 1), 0),))
    assert sorted(span for span in spans(first_guess(asked)) if span) == [(0, 30), (30, 60)]


def test_first_guess_two_machines_of_a_kind_work_side_by_side() -> None:
    jobs = (work("a", 30, machines=(0, 1)), work("b", 30, machines=(0, 1)))
    asked = replace(problem(*jobs, machines=(Machine("hob-1"), Machine("hob-2"))), dues=(Due("A", (0, 1), 0),))
    found = first_guess(asked)
    assert spans(found) == [(0, 30), (0, 30)]
    assert {place.machine for place in found.places if place} == {0, 1}


def test_first_guess_only_the_skilled_attend() -> None:
    asked = problem(
        work("pipe", 30, portions=THROUGHOUT, workers=(1,)),
        workers=(Worker("early", ((0, 600),)), Worker("skilled", ((100, 600),))),
    )
    found = first_guess(asked).places[0]
    assert found is not None
    assert (found.start, found.workers) == (100, ((1,),))


def test_first_guess_portion_spans_no_break_but_the_rest_does() -> None:
    # 10 min at the start, 10 at the end, 40 on its own in between: the break from 30 to 45 lies in the middle.
    asked = problem(
        work("harden", 60, portions=(Portion("start", 10), Portion("end", 10)), workers=(0,)),
        work("wrap", 20, portions=THROUGHOUT, workers=(0,), after=(Precedence(0),)),
        workers=(Worker("w", ((0, 30), (45, 70), (80, 200))),),
    )
    (start, end), wrapped = spans(first_guess(asked))  # type: ignore[misc]
    # Both portions in one stretch of presence each, the break on its own; 20 min in one piece are free from 80 on.
    assert (0 <= start <= 20, 45 <= end - 10 <= 60, end - start, wrapped) == (True, True, 60, (80, 100))


def test_first_guess_work_on_its_own_goes_on_through_the_night() -> None:
    night = (Worker("w", ((0, 480), (1440, 1920))),)
    asked = problem(
        work("dry", 540, portions=(Portion("start", 10),), workers=(0,)),
        work("grind", 10, portions=THROUGHOUT, workers=(0,), after=(Precedence(0, 0, 840),)),
        workers=night,
    )
    (dried, dry), (ground, _) = spans(first_guess(asked))  # type: ignore[misc]
    # Nobody is there from 480 to 1440, and within 840 min of being dry it must be ground.
    assert (ground, dried + 540, 0 <= ground - dry <= 840, dried <= 470) == (1440, dry, True, True)


def _runs(first: Family, second: Family) -> Problem:
    jobs = (
        work("first", 20, machines=(0,), family=first),
        work("second", 20, machines=(0,), family=second, after=(Precedence(0),)),
    )
    churn = Machine("churn", rinse=10, full=30, cleaners=(0,))
    return problem(*jobs, machines=(churn,), workers=(Worker("w", ((0, 35), (50, 600))),))


def test_first_guess_rinses_when_allergens_only_grow() -> None:
    found = first_guess(_runs(Family(frozenset(), "sorbet"), Family(frozenset({"milk"}), "custard")))
    assert spans(found) == [(0, 20), (30, 50)]
    assert [(c.full, c.start, c.end, c.workers) for c in found.cleans] == [(False, 20, 30, (0,))]


def test_first_guess_cleans_in_full_when_an_allergen_drops() -> None:
    # 30 min do not fit into the 15 before the cleaner leaves: the clean-down waits for 50.
    found = first_guess(_runs(Family(frozenset({"milk"}), "custard"), Family(frozenset(), "sorbet")))
    assert spans(found) == [(0, 20), (80, 100)]
    assert [(c.full, c.start, c.end) for c in found.cleans] == [(True, 50, 80)]


def test_first_guess_cleans_nothing_between_runs_of_one_base() -> None:
    found = first_guess(_runs(Family(frozenset({"milk", "egg"}), "custard"), Family(frozenset({"milk"}), "custard")))
    assert (spans(found), found.cleans) == ([(0, 20), (20, 40)], ())


def test_first_guess_first_run_is_cleaned_for_what_ran_before() -> None:
    asked = problem(
        work("run", 20, machines=(0,), family=Family(frozenset(), "sorbet")),
        machines=(Machine("churn", rinse=10, full=30, cleaners=(0,)),),
        workers=(Worker("w", ((0, 600),)),),
        families_before={0: Family(frozenset({"hazelnut"}), "hazelnut")},
    )
    assert spans(first_guess(asked)) == [(30, 50)]


def test_first_guess_stopped_machine_is_not_used() -> None:
    asked = problem(work("churn", 30, machines=(0,)), machines=(Machine("churn", stops=((0, 120),)),))
    assert spans(first_guess(asked)) == [(120, 150)]


def test_first_guess_safety_window_that_cannot_be_kept_leaves_the_order_out() -> None:
    aged = Job("age", 0, 60, stay=True, fixed=Fixed(0, None, None), stay_window=WindowClass.SAFETY)
    take = work("take", 10, portions=THROUGHOUT, workers=(0,), after=(joined(0),))
    asked = problem(aged, take, now=30, workers=(Worker("w", ((100, 600),)),))
    assert first_guess(asked).places[1] is None


def test_first_guess_quality_window_that_cannot_be_kept_is_broken_by_as_little_as_possible() -> None:
    aged = Job("age", 0, 60, stay=True, fixed=Fixed(0, None, None), stay_window=WindowClass.QUALITY)
    take = work("take", 10, portions=THROUGHOUT, workers=(0,), after=(joined(0),))
    asked = problem(aged, take, now=30, workers=(Worker("w", ((100, 600),)),))
    assert spans(first_guess(asked)) == [(0, 100), (100, 110)]


def test_first_guess_second_clean_needs_a_cleaner_too() -> None:
    with_nobody = replace(
        _runs(Family(frozenset({"milk"}), "custard"), Family(frozenset(), "sorbet")),
        workers=(Worker("w", ((0, 35),)),),
    )
    # Neither order of the two runs leaves anybody the time to clean: the second is left out.
    assert [span is None for span in spans(first_guess(with_nobody))].count(True) >= 1


def test_first_guess_nothing_to_do_is_an_empty_schedule() -> None:
    asked = Problem(origin=ORIGIN, now=0, horizon=100, jobs=())
    assert first_guess(asked).places == ()


@pytest.mark.parametrize("now", [0, 17, 1000])
def test_first_guess_nothing_starts_before_now(now: int) -> None:
    found = first_guess(problem(work("a", 10), now=now))
    assert spans(found) == [(now, now + 10)]
