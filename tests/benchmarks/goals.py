"""What the planner is meant to reach, and whether it did in what was measured: nothing is claimed that was not run."""

import math
import statistics
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from tests.benchmarks.book import Figures
from tests.benchmarks.markdown import NOTHING, number, table
from tests.benchmarks.quality_tables import Run, runs


@dataclass(frozen=True, slots=True)
class Goal:
    """A figure of each kitchen of a size, one figure of them all, and the most that it may be."""

    batches: int
    words: str
    of: Callable[[Run], float]
    all_of_them: Callable[[Sequence[float]], float]
    most: float


def plain_reached_s(run: Run) -> float:
    """Seconds in which the planner had what plain has after 20; at once, where plain has nothing."""
    goal = run.plain_quality(20)
    if math.isnan(run.against_plain(20)):
        return math.nan
    return run.planner.reaches(goal) if math.isfinite(goal) else 0.0


def missed_planted(seconds: float) -> Callable[[Run], float]:
    """1 for a kitchen that was not on time by then, else 0."""

    def missed(run: Run) -> float:
        ran = run.seconds >= seconds or run.planner.on_time() <= seconds
        return float(run.planner.on_time() > seconds) if ran else math.nan

    return missed


GOALS = (
    Goal(1, "÷ plain after 5 s, worst kitchen: no worse", lambda run: run.against_plain(5), max, 1.0),
    Goal(5, "÷ plain after 5 s, worst kitchen: no worse", lambda run: run.against_plain(5), max, 1.0),
    Goal(20, "÷ plain after 20 s, worst kitchen: ≤ 1.02", lambda run: run.against_plain(20), max, 1.02),
    Goal(20, "seconds to plain's 20 s quality, slowest kitchen: ≤ 4", plain_reached_s, max, 4.0),
    Goal(50, "÷ plain after 20 s, worst kitchen: ≤ 0.25", lambda run: run.against_plain(20), max, 0.25),
    Goal(150, "÷ first plan after 60 s, median: ≤ 0.25", lambda run: run.against_first(60), statistics.median, 0.25),
    Goal(400, "÷ first plan after 60 s, median: ≤ 0.08", lambda run: run.against_first(60), statistics.median, 0.08),
    Goal(20, "planted, share not on time in 5 s: ≤ 0.1", missed_planted(5), statistics.mean, 0.1),
    Goal(50, "planted, share not on time in 20 s: ≤ 0.1", missed_planted(20), statistics.mean, 0.1),
    Goal(150, "planted, share not on time in 60 s: ≤ 0.1", missed_planted(60), statistics.mean, 0.1),
)


def goals(found: Mapping[str, Figures]) -> str:
    """Each goal, what came of it, over how many seeds."""
    sizes = runs(found)
    rows = [_row(goal, sizes.get(goal.batches, [])) for goal in GOALS]
    return f"## Goals\n\n{table(['goal', 'measured', 'seeds', 'reached'], rows)}"


def _row(goal: Goal, there: Sequence[Run]) -> list[str]:
    name = f"{goal.batches} batches: {goal.words}"
    values = [value for run in there if not math.isnan(value := goal.of(run))]
    if not values:
        return [name, NOTHING, "0", "not measured"]
    value = goal.all_of_them(values)
    return [name, number(value), str(len(values)), "yes" if value <= goal.most else "no"]
