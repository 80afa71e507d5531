"""One kitchen per rule, small enough to solve by hand; each is solved again without the rule, which must show."""

from dataclasses import dataclass, replace

import pytest

from orchestrator.core.models import WindowClass
from orchestrator.planner import constraints
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.problem import (
    Due,
    Family,
    Fixed,
    Job,
    Machine,
    Place,
    Portion,
    Precedence,
    Problem,
    Schedule,
    Worker,
)
from orchestrator.planner.score import lateness
from orchestrator.planner.solve import solve
from tests.planner.problems import ALWAYS, THROUGHOUT, joined, posed, stay, work
from tests.planner.verifier import faults

SAFETY, QUALITY, PREFERENCE = WindowClass.SAFETY, WindowClass.QUALITY, WindowClass.PREFERENCE
NUT, MILK, DAMSON = frozenset({"milk", "hazelnut"}), frozenset({"milk"}), frozenset[str]()


def solved(problem: Problem) -> Schedule:
    return solve(problem, None, seconds=10, deterministic=True)


def dues(*jobs_and_instants: tuple[int, int]) -> tuple[Due, ...]:
    return tuple(Due(f"O-{n}", (job,), due) for n, (job, due) in enumerate(jobs_and_instants))


@dataclass(frozen=True)
class Case:
    """A problem, the rule it is about, and the minutes late of its orders, worked out by hand."""

    rule: str
    problem: Problem
    late: tuple[int | None, ...]


def run(family: frozenset[str], base: str, depth: int | None = None) -> Job:
    return work(base, 10, machines=(0,), family=Family(family, base, depth))


def churn(
    *families: tuple[frozenset[str], str] | tuple[frozenset[str], str, int | None], before: Family | None = None
) -> Problem:
    """Runs on one churn, all wanted at minute 10 (the first by far the most), rinsed in 5 and cleaned in 20 minutes."""
    runs = [run(*family) for family in families]
    orders = tuple(Due(f"O-{i}", (i,), 10, weight=100 if i == 0 else 1) for i in range(len(runs)))
    machine = Machine("churn", rinse=5, full=20, cleaners=(0,))
    known = {} if before is None else {0: before}
    return posed(runs, machines=(machine,), workers=(Worker("cook", ALWAYS),), dues=orders, families_before=known)


CASES = {
    "follows: 10 and 10 minutes, wanted at 12": Case(
        "order", posed([work("a", 10), work("b", 10, after=(Precedence(0),))], dues=dues((1, 12))), (8,)
    ),
    "least lag of 30 minutes": Case(
        "windows",
        posed([work("a", 10), work("b", 10, after=(Precedence(0, 30, None, SAFETY),))], dues=dues((1, 20))),
        (30,),
    ),
    "stay of 60 minutes at least": Case(
        "windows",
        posed(
            [work("a", 10), stay("age", 0, 60, 90, stay_window=SAFETY), work("b", 10, after=joined(1))],
            dues=dues((2, 20)),
        ),
        (60,),
    ),
    "no wait: the cook for b comes at 50, so a may not be done at 10": Case(
        "windows",
        posed(
            [
                work("a", 10),
                work("b", 10, portions=THROUGHOUT, workers=(0,), after=(Precedence(0, 0, 0, SAFETY),)),
            ],
            workers=(Worker("cook", ((50, 60),)),),
            dues=dues((1, 20)),
            # Where the plan had a, at a price for moving it: without the window it would stay there.
            previous=(Place(0, 10), None),
        ),
        (40,),
    ),
    "a last stay fills its place until its longest is over": Case(
        "last_stays",
        posed(
            [
                work("a", 0, fixed=Fixed(0, 0, None)),
                stay("rest", 0, 0, 60, machines=(0,), load=100),
                work("b", 10, machines=(0,), load=100),
            ],
            machines=(Machine("fridge", 100, shared=True),),
            dues=dues((2, 20)),
        ),
        (50,),
    ),
    "any of two machines": Case(
        "machines",
        posed(
            [work("a", 10, machines=(0, 1)), work("b", 10, machines=(0, 1))],
            machines=(Machine("hob-1"), Machine("hob-2")),
            dues=dues((0, 10), (1, 10)),
        ),
        (0, 0),
    ),
    "one machine of the two is stopped": Case(
        "machines",
        posed(
            [work("a", 10, machines=(0, 1)), work("b", 10, machines=(0, 1))],
            machines=(Machine("hob-1", stops=((5, 15),)), Machine("hob-2")),
            dues=dues((0, 10), (1, 20)),
        ),
        (0, 0),
    ),
    "one at a time": Case(
        "capacity",
        posed(
            [work("a", 10, machines=(0,)), work("b", 20, machines=(0,))],
            machines=(Machine("hob"),),
            dues=dues((0, 10), (1, 10)),
        ),
        (0, 20),
    ),
    "three of 50 in a place for 100": Case(
        "capacity",
        posed(
            [work(name, 10, machines=(0,), load=50) for name in "abc"],
            machines=(Machine("ice bath", 100, shared=True),),
            dues=(Due("O-0", (0,), 10, weight=3), Due("O-1", (1,), 10, weight=2), Due("O-2", (2,), 10)),
        ),
        (0, 0, 10),
    ),
    "a stay keeps its place until the next job": Case(
        "capacity",
        posed(
            [
                work("a", 10),
                stay("age", 0, 60, 90, machines=(0,), load=60, stay_window=SAFETY),
                work("b", 10, after=joined(1)),
                work("c", 30, machines=(0,), load=60),
            ],
            machines=(Machine("fridge", 100, shared=True),),
            dues=(Due("O-0", (2,), 80, weight=9), Due("O-1", (3,), 30)),
        ),
        (0, 70),
    ),
    "an allergen drops: full clean of 20": Case("clean_downs", churn((NUT, "nut"), (MILK, "basil")), (0, 30)),
    "allergens only grow: rinse of 5": Case("clean_downs", churn((MILK, "basil"), (NUT, "nut")), (0, 15)),
    "a paler run after a deeper one: full clean of 20, though its allergens grow": Case(
        "clean_downs", churn((DAMSON, "damson", 2), (MILK, "basil", 0)), (0, 30)
    ),
    "a deeper run after a paler one: rinse of 5": Case(
        "clean_downs", churn((DAMSON, "quince", 0), (DAMSON, "damson", 2)), (0, 15)
    ),
    "clean-down before the first run": Case("clean_downs", churn((DAMSON, "damson"), before=Family(NUT, "nut")), (20,)),
    "one cook, two attended jobs": Case(
        "crew",
        posed(
            [work("a", 10, portions=THROUGHOUT, workers=(0,)), work("b", 20, portions=THROUGHOUT, workers=(0,))],
            workers=(Worker("cook", ALWAYS),),
            dues=(Due("O-0", (0,), 10, weight=3), Due("O-1", (1,), 10)),
        ),
        (0, 20),
    ),
    "two hands for 10 minutes": Case(
        "crew",
        posed(
            [
                work("a", 10, portions=THROUGHOUT, workers=(0, 1, 2), hands=2),
                work("b", 10, portions=THROUGHOUT, workers=(0,)),
            ],
            workers=(Worker("early", ((0, 100),)), Worker("late", ((30, 100),)), Worker("mid", ((20, 30),))),
            dues=(Due("O-0", (0,), 10, weight=3), Due("O-1", (1,), 10)),
        ),
        (20, 0),
    ),
    "not handed over before its earliest": Case(
        "hand_over", posed([work("a", 10)], dues=(Due("O-0", (0,), 10, earliest=45),)), (35,)
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_rule_kept_gives_the_lateness_worked_out_by_hand(name):
    case = CASES[name]
    schedule = solved(case.problem)
    assert faults(case.problem, schedule) == []
    assert lateness(case.problem, schedule) == case.late


@pytest.mark.parametrize("name", CASES)
def test_rule_left_out_breaks_the_plan(name, monkeypatch):
    case = CASES[name]
    others = tuple(rule for rule in constraints.ALL if rule.__name__ != case.rule)
    assert len(others) == len(constraints.ALL) - 1
    monkeypatch.setattr(constraints, "ALL", others)
    assert faults(case.problem, solved(case.problem)) != []


def test_same_base_back_to_back_needs_no_clean_down():
    problem = churn((NUT, "nut"), (NUT, "nut"))
    schedule = solved(problem)
    assert schedule.cleans == ()
    assert lateness(problem, schedule) == (0, 10)


@pytest.mark.parametrize(
    ("first", "second", "full"),
    [
        pytest.param(2, 0, True, id="a deep run, then a pale one"),
        pytest.param(2, 2, False, id="both deep"),
        pytest.param(0, 2, False, id="deeper"),
        pytest.param(2, None, False, id="the second has no colour of its own"),
        pytest.param(None, 0, False, id="the first leaves none"),
    ],
)
def test_colour_decides_between_rinse_and_full_clean(first, second, full):
    problem = churn((DAMSON, "damson", first), (MILK, "basil", second))
    for schedule in (solved(problem), first_guess(problem)):
        assert faults(problem, schedule) == []
        assert [(clean.before, clean.full) for clean in schedule.cleans] == [(1, full)]


def test_clean_down_waits_for_its_cleaner_and_may_lie_in_a_stop():
    problem = churn((NUT, "nut"), (MILK, "basil"))
    machine = Machine("churn", rinse=5, full=20, cleaners=(0,), stops=((10, 60),))
    cook = Worker("cook", ((30, 200),))
    problem = posed(problem.jobs, machines=(machine,), workers=(cook,), dues=problem.dues)
    schedule = solved(problem)
    assert faults(problem, schedule) == []
    (clean,) = schedule.cleans
    assert (clean.full, clean.workers, clean.start >= 30, clean.end <= 60) == (True, (0,), True, True)
    assert lateness(problem, schedule) == (0, 60)


def test_portion_does_not_span_a_break_but_the_rest_of_the_job_may():
    jobs = [work("a", 60, portions=(Portion("start", 10), Portion("end", 10)), workers=(0,))]
    problem = posed(jobs, workers=(Worker("cook", ((0, 15), (45, 58), (63, 120))),), dues=dues((0, 60)))
    # From 0 to 5 the end portion would begin at 50 to 55 and run into the break at 58; 45 is the first start after.
    assert solved(problem).places == (Place(45, 105, None, ((0,), (0,))),)


def test_machine_stop_delays_the_only_machine():
    problem = posed([work("a", 10, machines=(0,))], machines=(Machine("hob", stops=((5, 20),)),), dues=dues((0, 10)))
    assert solved(problem).places == (Place(20, 30, 0),)


def test_release_and_now_hold_a_job_back():
    problem = posed([work("a", 10, release=40), work("b", 10)], now=25, dues=dues((0, 10), (1, 10)))
    assert solved(problem).places == (Place(40, 50), Place(25, 35))


def after_a_run(end: int | None, known: Family | None) -> Problem:
    """A nut run from 0, in hand or ended; then a basil run wanted at 50, at minute 20; a full clean takes 20."""
    first = replace(run(NUT, "nut"), fixed=Fixed(0, end, 0))
    machine = Machine("churn", rinse=5, full=20, cleaners=(0,))
    known_before = {} if known is None else {0: known}
    return posed(
        [first, run(MILK, "basil")],
        now=20,
        machines=(machine,),
        workers=(Worker("cook", ALWAYS),),
        dues=dues((1, 50)),
        families_before=known_before,
    )


@pytest.mark.parametrize(
    ("problem", "late"),
    [
        pytest.param(after_a_run(10, None), 0, id="ended: clean 20 to 40, run 40 to 50"),
        pytest.param(after_a_run(30, None), 10, id="in hand until 30: clean 30 to 50, run 50 to 60"),
        pytest.param(after_a_run(30, Family(MILK, "basil")), 10, id="in hand, whatever was known before"),
    ],
)
def test_clean_down_after_what_has_happened_on_the_machine(problem, late):
    schedule = solved(problem)
    assert faults(problem, schedule) == []
    assert [(clean.before, clean.full) for clean in schedule.cleans] == [(1, True)]
    assert lateness(problem, schedule) == (late,)


def test_clean_down_already_done_is_not_done_again():
    problem = after_a_run(10, Family(MILK, "basil"))
    schedule = solved(problem)
    assert faults(problem, schedule) == []
    assert schedule.cleans == ()
