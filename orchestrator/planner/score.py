"""What a schedule is worth, counted without the solver: eight goals, each settled before the next."""

from dataclasses import astuple, dataclass, replace

from orchestrator.core.models import WindowClass
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score_changes import changes, cleans_moved, earliness, moves, shifted
from orchestrator.planner.score_food import (
    dawdling,
    freshness,
    missed,
    ready_early,
    short_margin,
    slow_freezing,
    waits,
    waste,
)
from orchestrator.planner.score_work import cleaning, crew, idle_heat, other_hands, peaks, reserve

BREAK_EACH = 30
"""A broken quality window counts as this many minutes more than those it is missed by."""


@dataclass(frozen=True, slots=True, order=True)
class Score:
    """Less is better, the first that differs decides."""

    unmet: int
    """Weights of the orders that are not met."""
    breaks: int
    """Minutes by which quality windows are missed, and `BREAK_EACH` for each."""
    late: int
    """Minutes late times the order's weight."""
    waste: int
    """Hundredths of what keeps for less than the plan is long and is used by nothing."""
    calm: int
    """In a re-plan all that follows in one sum at the weights of `CALM`; 0 in a first plan."""
    freshness: int
    """What waits too long or is handed over too soon, at the prices of `score_food`."""
    cleaning: int
    """Clean-downs and idle heat, at the prices of `score_work`."""
    crew: int
    """Hands at once, those in reserve, tasks passed on, at the prices of `score_work`."""
    changes: int
    """What differs from the adopted plan, at the prices of `score_changes`; and things are made early."""


CALM = {"freshness": 1, "cleaning": 10, "crew": 1, "changes": 1}
"""In a re-plan. Goal before goal, either every task would move to save a minute's waiting, or, with the price of
changes counted in the first goal, none at all for any of the others. So they are weighed: a task moves for four hours'
waiting or a quarter of a full clean, another person comes in for twenty hours'. Orders, windows, lateness, waste go
before."""
WEIGHTS = Score(
    unmet=10**13, breaks=10**10, late=10**7, waste=10**5, calm=10**4, freshness=10**3, cleaning=10, crew=1, changes=1
)
"""One number for benches and for the solver: one unit of a goal outweighs what it mostly costs those after it."""


def scalar(value: Score) -> float:
    """A score as one number, at least 1: ratios of two are always defined."""
    return float(1 + sum(weight * part for weight, part in zip(astuple(WEIGHTS), astuple(value), strict=True)))


def lateness(problem: Problem, schedule: Schedule) -> tuple[int | None, ...]:
    """Minutes late of each order: 0 when on time, none when it is not met."""
    late: list[int | None] = []
    for due in problem.dues:
        places = [schedule.places[job] for job in due.jobs]
        met = [place for place in places if place is not None]
        late.append(None if len(met) < len(places) else max([0, *(place.end - due.due for place in met)]))
    return tuple(late)


def sunk(problem: Problem, number: int, minutes: int) -> int:
    """How much of an order's lateness no plan can save: all of it once it is handed over, else what has passed by now.

    Args:
        problem: With the order.
        number: Of the order.
        minutes: That it is late.
    """
    due = problem.dues[number]
    facts = (problem.jobs[job].fixed for job in due.jobs)
    if all(fact is not None and fact.begun and fact.end is not None for fact in facts):
        return minutes
    return min(minutes, max(0, problem.now - due.due))


def savable(problem: Problem, schedule: Schedule, value: Score) -> Score:
    """A score without the lateness that is sunk: what is worth a search, not what a plan is worth."""
    told = enumerate(lateness(problem, schedule))
    gone = sum(problem.dues[number].weight * sunk(problem, number, late) for number, late in told if late)
    return replace(value, late=value.late - gone)


def replans(problem: Problem) -> bool:
    """Whether there is a plan that people already work by."""
    return any(place is not None for place in problem.previous)


def score(problem: Problem, schedule: Schedule) -> Score:
    """What a schedule is worth.

    Args:
        problem: What was asked for.
        schedule: A place for each of its jobs; it need not keep the rules.

    Returns:
        The goals; comparing two scores compares goal by goal.
    """
    late = lateness(problem, schedule)
    quality = missed(problem, schedule, WindowClass.QUALITY)
    last = {
        "freshness": freshness(problem, schedule),
        "cleaning": cleaning(problem, schedule),
        "crew": crew(problem, schedule),
        "changes": changes(problem, schedule),
    }
    weighed = sum(CALM[goal] * value for goal, value in last.items())
    return Score(
        unmet=sum(due.weight for due, minutes in zip(problem.dues, late, strict=True) if minutes is None),
        breaks=sum(quality) + BREAK_EACH * len(quality),
        late=sum(due.weight * (minutes or 0) for due, minutes in zip(problem.dues, late, strict=True)),
        waste=waste(problem, schedule),
        calm=weighed if replans(problem) else 0,
        **last,
    )


def terms(problem: Problem, schedule: Schedule) -> tuple[tuple[str, int, float], ...]:
    """Each goal by name, with its stage and what it came to, in minutes, counts or the unit of the load."""
    late = lateness(problem, schedule)
    moved, replaced = moves(problem, schedule)
    quality = missed(problem, schedule, WindowClass.QUALITY)
    return (
        ("orders not met", 1, float(sum(minutes is None for minutes in late))),
        ("quality windows broken", 2, float(len(quality))),
        ("minutes outside quality windows", 2, float(sum(quality))),
        ("weighted minutes late", 3, float(sum(d.weight * (m or 0) for d, m in zip(problem.dues, late, strict=True)))),
        ("wasted before it is used", 4, waste(problem, schedule) / 100),
        ("minutes outside preferred windows", 5, float(sum(missed(problem, schedule, WindowClass.PREFERENCE)))),
        ("minutes short of a margin before due", 5, float(short_margin(problem, schedule))),
        ("minutes handed over early", 5, float(ready_early(problem, schedule))),
        ("minutes that food waits too long", 5, float(sum(minutes for minutes, _ in waits(problem, schedule)))),
        ("minutes between steps", 5, float(dawdling(problem, schedule))),
        ("minutes of slow freezing", 5, float(slow_freezing(problem, schedule))),
        ("minutes of clean-downs", 6, float(sum(clean.end - clean.start for clean in schedule.cleans))),
        ("full clean-downs", 6, float(sum(clean.full for clean in schedule.cleans))),
        ("minutes that machines stand hot", 6, float(idle_heat(problem, schedule))),
        ("most hands at once, each day", 7, float(peaks(problem, schedule))),
        ("minutes of those in reserve", 7, float(reserve(problem, schedule))),
        ("tasks passed on", 7, float(other_hands(problem, schedule))),
        ("tasks moved", 8, float(moved)),
        ("minutes moved", 8, float(shifted(problem, schedule))),
        ("clean-downs moved", 8, float(cleans_moved(problem, schedule))),
        ("people changed", 8, float(replaced)),
        ("minutes until things are made", 8, float(earliness(problem, schedule))),
    )
