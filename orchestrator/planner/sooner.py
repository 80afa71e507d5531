"""Serial generation again and again: orders that came late are given their turn sooner the next time.

A late order is often late only because another took its place a step before. Search has to find the whole chain of
places to exchange; a new generation in a better order makes it by itself, in a tenth of a second at 50 batches.

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
STEPS_MIN = (720, 480)
"""A late order's turn comes as if it were due so much sooner each time: half a day's runs are before it. What the
longer step does not bring in time, the shorter one may: of 17 planted kitchens of 50 and 150 batches 720 alone left
three late after 20 rounds, 480 three after 24, but only one the same."""
ROUNDS = 20
"""With each step; most of what is found is found in twelve."""
PLACE_S = 0.0003
"""What placing a job counts for where plans must repeat: seconds on a free core at 150 batches."""


def generations(problem: Problem, given: Schedule, over: Callable[[], bool]) -> Iterator[Schedule]:
    """Schedules by one rule, each with the turns that the one before asks for.

    Args:
        problem: What is to be placed.
        given: Whose late orders have their turn sooner in the first.
        over: Asked before each; True ends it.

    Yields:
        Schedules that keep every hard rule, better and worse; it ends with the first in which no order is late, nor
        served with a window broken.
    """
    for step in STEPS_MIN:
        sooner: Counter[int] = Counter()
        turned = _turned(problem, given)
        for _ in range(ROUNDS):
            if over() or not turned:
                return
            sooner.update(dict.fromkeys(turned, step))
            schedule = generate(problem, network(problem), RULE, sooner=sooner)
            yield schedule
            turned = _turned(problem, schedule)


def _turned(problem: Problem, schedule: Schedule) -> list[int]:
    """Orders that are late; where none is, those served with a window broken."""
    late = [number for number in range(len(problem.dues)) if _late(problem, schedule, number)]
    return late or _broken(problem, schedule)


def _broken(problem: Problem, schedule: Schedule) -> list[int]:
    known = schedule_standings(problem, schedule)
    return [number for number, due in enumerate(problem.dues) if known[OrderId(due.order)][1]]


def _late(problem: Problem, schedule: Schedule, number: int) -> bool:
    due = problem.dues[number]
    places = [schedule.places[job] for job in due.jobs]
    return any(place is None or place.end > due.due for place in places)
