"""What is done to machines between runs: pre-cools, day-end cleans and hygiene cleans, by hand and by chance."""

import random
from dataclasses import dataclass, replace

import pytest

from orchestrator.planner import constraints
from orchestrator.planner.budget import Budget
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.problem import CleanDown, Due, Family, Fixed, Machine, Problem, Schedule, Worker
from orchestrator.planner.score import lateness
from orchestrator.planner.solve import Search, solve
from tests.planner.problems import ALWAYS, posed, work
from tests.planner.verifier import faults

NUT, MILK, DAMSON = frozenset({"milk", "hazelnut"}), frozenset({"milk"}), frozenset[str]()
COOK = Worker("cook", ALWAYS)
DAYS = ((0, 300), (400, 700), (800, 1000))
"""Three days of 400, 400 and 200 minutes; the last who can clean go home at 300, 700 and 1000."""


def solved(problem: Problem, guess: Schedule | None = None) -> Schedule:
    return solve(problem, guess, seconds=10, deterministic=True)


def runs(*wanted: tuple[str, int], machine: Machine, minutes: int = 10, **rest: object) -> Problem:
    """Runs of one base each on one machine, each wanted by an instant, all of the same allergens."""
    jobs = [work(f"{base}{n}", minutes, machines=(0,), family=Family(MILK, base)) for n, (base, _) in enumerate(wanted)]
    orders = tuple(Due(f"O-{n}", (n,), due, weight=10 if n == 0 else 1) for n, (_, due) in enumerate(wanted))
    return posed(jobs, machines=(machine,), workers=(COOK,), dues=orders, **rest)


COLD = Machine("churn", precool=15, keeps=20)
CLOSED = Machine("churn", day_end=30, closers=(0,), days=DAYS)
CLEAN = Machine("churn", rinse=5, full=40, hygiene=20, cleaners=(0,), every=60)


@dataclass(frozen=True)
class Case:
    """A problem, the rule it is about, the minutes late of its orders and what is done, all worked out by hand."""

    rule: str
    problem: Problem
    late: tuple[int | None, ...]
    done: tuple[tuple[str, int], ...]
    """Kind of each thing done, and the run that it is for."""


CASES = {
    "a warm machine is cooled from 0 to 15 before its first run, and keeps cold for the second": Case(
        "precools", runs(("basil", 10), ("basil", 20), machine=COLD), (15, 15), (("pre-cool", 0),)
    ),
    "it ran until 10 and keeps until 30: a run that may not start before 31 waits for nothing, but cools from 16": Case(
        "precools",
        replace(
            runs(("basil", 25), ("basil", 41), machine=COLD),
            jobs=(
                work("first", 10, machines=(0,), family=Family(MILK, "basil"), fixed=Fixed(0, 10, 0)),
                work("second", 10, machines=(0,), family=Family(MILK, "basil"), release=31),
            ),
            now=10,
        ),
        (0, 0),
        (("pre-cool", 1),),
    ),
    "while it is stopped it does not cool: after the stop, 15 minutes more": Case(
        "precools", runs(("basil", 10), machine=replace(COLD, stops=((10, 40),))), (55,), (("pre-cool", 0),)
    ),
    "a run of 10 that ends after 270 cannot be followed by a clean of 30 before 300: it waits for the next day": Case(
        "day_ends",
        replace(
            runs(("basil", 280), machine=CLOSED),
            jobs=(work("late", 10, machines=(0,), family=Family(MILK, "basil"), release=265),),
        ),
        (130,),
        (("day-end", 0),),
    ),
    "two runs of a day and one of the next: two cleans": Case(
        "day_ends",
        replace(
            runs(("basil", 110), ("nut", 120), ("damson", 410), machine=CLOSED),
            jobs=tuple(
                work(base, 10, machines=(0,), family=Family(MILK, base), release=release)
                for base, release in (("basil", 100), ("nut", 110), ("damson", 400))
            ),
        ),
        (0, 0, 0),
        (("day-end", 1), ("day-end", 2)),
    ),
    "in use for at most 60: the third run of 25 waits for a clean of 20": Case(
        "hygiene",
        runs(("basil", 25), ("basil", 50), ("basil", 75), machine=CLEAN, minutes=25),
        (0, 0, 20),
        (("hygiene", 2),),
    ),
    "a run of 90 is longer than 60 and begins on a clean machine": Case(
        "hygiene",
        replace(
            runs(("basil", 10), ("basil", 100), machine=CLEAN),
            jobs=(
                work("short", 10, machines=(0,), family=Family(MILK, "basil")),
                work("long", 90, machines=(0,), family=Family(MILK, "basil")),
            ),
        ),
        (0, 20),
        (("hygiene", 1),),
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_rule_kept_gives_the_plan_worked_out_by_hand(name: str) -> None:
    case = CASES[name]
    schedule = solved(case.problem)
    assert faults(case.problem, schedule) == []
    assert lateness(case.problem, schedule) == case.late
    assert tuple(sorted((c.kind, c.before) for c in schedule.cleans)) == case.done


@pytest.mark.parametrize("name", CASES)
def test_rule_left_out_breaks_the_plan(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    case = CASES[name]
    others = tuple(rule for rule in constraints.ALL if rule.__name__ != case.rule)
    assert len(others) == len(constraints.ALL) - 1
    monkeypatch.setattr(constraints, "ALL", others)
    assert faults(case.problem, solved(case.problem)) != []


@pytest.mark.parametrize("name", CASES)
def test_first_guess_keeps_the_rule(name: str) -> None:
    guess = first_guess(CASES[name].problem)
    assert faults(CASES[name].problem, guess) == []
    assert None not in guess.places


def test_day_end_clean_leaves_nothing_to_clean_in_the_morning() -> None:
    machine = replace(CLOSED, rinse=10, full=40, cleaners=(0,))
    jobs = [
        work("nut", 10, machines=(0,), family=Family(NUT, "nut"), release=100),
        work("damson", 10, machines=(0,), family=Family(DAMSON, "damson"), release=400),
    ]
    orders = (Due("O-0", (0,), 110), Due("O-1", (1,), 410))
    problem = posed(jobs, machines=(machine,), workers=(COOK,), dues=orders)
    for schedule in (solved(problem), first_guess(problem)):
        assert faults(problem, schedule) == []
        assert lateness(problem, schedule) == (0, 0)
        assert {c.kind for c in schedule.cleans} == {"day-end"}


def test_full_clean_and_hygiene_clean_begin_the_time_in_use_anew_and_a_rinse_does_not() -> None:
    machine = replace(CLEAN, full=20)
    jobs = [
        work("basil", 30, machines=(0,), family=Family(MILK, "basil")),
        work("mint", 30, machines=(0,), family=Family(MILK, "mint"), release=35),
        work("damson", 30, machines=(0,), family=Family(DAMSON, "damson"), release=100),
    ]
    orders = tuple(Due(f"O-{n}", (n,), due) for n, due in enumerate((30, 65, 130)))
    problem = posed(jobs, machines=(machine,), workers=(COOK,), dues=orders)
    schedule = solved(problem)
    assert faults(problem, schedule) == []
    # Rinsed, basil and mint would be in use for 65 minutes: a hygiene clean of 20 it is, and damson gets its full one.
    assert lateness(problem, schedule) == (0, 15, 0)
    assert sorted((c.kind, c.before) for c in schedule.cleans) == [("full", 2), ("hygiene", 1)]


def begun(machine: Machine, *done: CleanDown, **rest: object) -> Problem:
    """A nut run from 10 to 20, now at 30, then a damson run wanted at 100."""
    first = work("nut", 10, machines=(0,), family=Family(NUT, "nut"), fixed=Fixed(10, 20, 0, (0,)))
    second = work("damson", 10, machines=(0,), family=Family(DAMSON, "damson"), release=90)
    dues = (Due("O-0", (1,), 100),)
    return posed([first, second], now=30, machines=(machine,), workers=(COOK,), dues=dues, upkeep_before=done, **rest)


ALL = replace(CLOSED, rinse=10, full=15, hygiene=12, cleaners=(0,), every=60, precool=15, keeps=20)


@pytest.mark.parametrize(
    ("done", "needs"),
    [
        pytest.param((), ["day-end 1", "full 1", "pre-cool 1"], id="nothing done yet"),
        pytest.param((("pre-cool", 28, 75),), ["day-end 1", "full 1"], id="a pre-cool in hand until 75"),
        pytest.param((("day-end", 20, 30),), ["day-end 1", "pre-cool 1"], id="closed already, and used again"),
        pytest.param(
            (("hygiene", 20, 30),), ["day-end 1", "full 1", "pre-cool 1"], id="a hygiene clean leaves the nut"
        ),
    ],
)
def test_what_has_been_done_counts(done: tuple[tuple[str, int, int], ...], needs: list[str]) -> None:
    facts = tuple(CleanDown(0, -1, kind, start, end, ()) for kind, start, end in done)  # type: ignore[arg-type]
    problem = begun(ALL, *facts)
    assert faults(problem, first_guess(problem)) == []
    schedule = solved(problem)
    assert faults(problem, schedule) == []
    assert sorted(f"{c.kind} {c.before}" for c in schedule.cleans) == needs


def test_run_that_began_this_very_minute_asks_for_no_precool_in_the_past() -> None:
    begun = Fixed(30, 40, 0, begun=True)
    for fixed, kinds in ((begun, []), (replace(begun, begun=False), ["pre-cool"])):
        run = work("basil", 10, machines=(0,), family=Family(MILK, "basil"), fixed=fixed)
        guess = first_guess(posed([run], now=30, machines=(COLD,)))
        assert [clean.kind for clean in guess.cleans] == kinds


def test_day_end_clean_is_owed_after_the_last_run_that_has_happened() -> None:
    problem = begun(ALL)
    problem = replace(
        problem, jobs=(problem.jobs[0], replace(problem.jobs[1], release=450)), dues=(Due("O", (1,), 470),)
    )
    for schedule in (solved(problem), first_guess(problem)):
        assert faults(problem, schedule) == []
        assert [(c.kind, c.before) for c in schedule.cleans if c.start < 300] == [("day-end", 0)]
        # Closed for the night, it needs no clean-down the next morning.
        assert sorted(c.kind for c in schedule.cleans if c.start >= 300) == ["day-end", "pre-cool"]


def test_day_end_clean_that_nobody_can_do_any_more_is_not_asked_for() -> None:
    gone = Worker("cook", ((0, 40), (400, 700)))
    problem = replace(begun(ALL), workers=(gone,))
    problem = replace(
        problem, jobs=(problem.jobs[0], replace(problem.jobs[1], release=450)), dues=(Due("O", (1,), 470),)
    )
    for schedule in (solved(problem), first_guess(problem)):
        assert faults(problem, schedule) == []
        assert sorted(c.kind for c in schedule.cleans) == ["day-end", "full", "pre-cool"]


def busy_week(seed: int) -> Problem:
    """Eight to sixteen runs by chance on two machines to which everything may be done."""
    chance = random.Random(seed)
    days = tuple((day * 400, day * 400 + chance.choice((250, 300, 390))) for day in range(5))
    free = tuple(
        (a, b) for day in range(5) for a, b in ((day * 400, day * 400 + 120), (day * 400 + 140, day * 400 + 395))
    )
    machines = tuple(
        Machine(
            f"churn-{n}",
            rinse=10,
            full=25,
            hygiene=20,
            cleaners=(0, 1),
            every=chance.choice((None, 90, 150)),
            precool=chance.choice((0, 15)),
            keeps=chance.choice((15, 40)),
            day_end=chance.choice((0, 20)),
            closers=(0,),
            days=days,
            stops=((chance.randrange(0, 900), 960),) if chance.random() < 0.3 else (),
        )
        for n in range(2)
    )
    families = [Family(chance.choice((NUT, MILK, DAMSON)), base, chance.choice((None, 0, 1))) for base in "abc"]
    jobs, dues = [], []
    for n in range(chance.randrange(8, 17)):
        release = chance.randrange(0, 1500)
        on = chance.choice(((0,), (1,), (0, 1)))
        jobs.append(
            work(f"L{n}", chance.choice((10, 30, 60)), machines=on, family=chance.choice(families), release=release)
        )
        dues.append(Due(f"O-{n}", (n,), release + chance.randrange(60, 400), weight=chance.choice((1, 3))))
    now = chance.choice((0, 0, 150))
    if now:
        jobs[0] = replace(jobs[0], machines=(0,), fixed=Fixed(100, 100 + jobs[0].shortest, 0, ()), release=0)
    workers = (Worker("early", free), Worker("other", free[::2]))
    return posed(jobs, horizon=2000, now=now, machines=machines, workers=workers, dues=tuple(dues))


@pytest.mark.parametrize("seed", range(60))
def test_first_guess_of_any_week_keeps_every_rule_and_is_a_solution_of_the_model(seed: int) -> None:
    problem = busy_week(seed)
    guess = first_guess(problem)
    assert faults(problem, guess) == []
    search = Search(problem, guess, Budget(10, deterministic=True), 0, None)
    assert search.best is guess


@pytest.mark.parametrize("seed", range(0, 60, 10))
def test_solved_week_keeps_every_rule(seed: int) -> None:
    problem = busy_week(seed)
    assert faults(problem, solve(problem, first_guess(problem), seconds=2, deterministic=True)) == []
