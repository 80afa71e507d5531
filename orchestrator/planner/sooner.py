"""Serial generation again and again: orders that came late are given their turn sooner the next time.

A late order is often late only because another took its place a step before. Search has to find the whole chain of
places to exchange; a new generation in a better order makes it by itself, in a twentieth of a second at 50 batches.

Source: squeaky wheel optimization: Joslin and Clements, Journal of Artificial Intelligence Research 10 (1999),
353-373; from memory.
"""

from collections import Counter
from collections.abc import Callable, Iterator

from orchestrator.core.ids import OrderId
from orchestrator.planner.generation import generate
from orchestrator.planner.lags import network
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.trouble import schedule_standings
from orchestrator.planner.wishes import Rule

RULE: Rule = "backwards, by due"
ROUNDS = 12
"""Most of what it finds is found in eight; beyond, greedy search makes more of the time."""
STEP_MIN = 1440
"""A late order's turn comes as if it were due so much sooner: a day's runs are before it."""


def generations(problem: Problem, over: Callable[[], bool]) -> Iterator[Schedule]:
    """Schedules by one rule, each with the turns that the one before asks for.

    Args:
        problem: What is to be placed.
        over: Asked before each; True ends it.

    Yields:
        Schedules that keep every hard rule, better and worse; it ends with the first in which no order is late, nor
        served with a window broken.
    """
    sooner: Counter[int] = Counter()
    for _ in range(ROUNDS):
        if over():
            return
        schedule = generate(problem, network(problem), RULE, sooner=sooner)
        yield schedule
        late = [number for number in range(len(problem.dues)) if _late(problem, schedule, number)]
        turned = late or _broken(problem, schedule)
        if not turned:
            return
        sooner.update(dict.fromkeys(turned, STEP_MIN))


def _broken(problem: Problem, schedule: Schedule) -> list[int]:
    """Orders served with a window broken: once none is late, it is their turn to go sooner."""
    known = schedule_standings(problem, schedule)
    return [number for number, due in enumerate(problem.dues) if known[OrderId(due.order)][1]]


def _late(problem: Problem, schedule: Schedule, number: int) -> bool:
    due = problem.dues[number]
    places = [schedule.places[job] for job in due.jobs]
    return any(place is None or place.end > due.due for place in places)
