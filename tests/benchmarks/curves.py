"""How good a plan is after how many seconds: a search in a process of its own, and what it found when."""

import multiprocessing
import time
from collections.abc import Callable
from dataclasses import astuple, dataclass
from multiprocessing.connection import Connection

from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import Score, scalar, score
from orchestrator.planner.solve import solve
from tests.benchmarks.book import Figures
from tests.benchmarks.memory import peak_mb
from tests.benchmarks.plain import plain
from tests.planner.verifier import faults

PLANNER = "planner"
"""The method that is what the planner does, the first plan included; all others are forms of one plain model."""
_GRACE_S = 60.0
"""For scoring what was found, after the search; a model that is still being built then found nothing."""
_VERIFYING_S = 600.0
"""For the brute-force verifier, which counts minute by minute."""


@dataclass(frozen=True, slots=True)
class Curve:
    """Each better plan, and the seconds at which it was there."""

    points: tuple[tuple[float, Score], ...]
    peak_mb: float | None = None
    """Most memory of the process."""
    proven: bool = False
    """That nothing better by its own objective is to be had."""
    died: bool = False
    """The process ended before its time, or did not come to its end."""

    def at(self, seconds: float) -> Score | None:
        """The best so far; none if nothing was found by then."""
        found = [value for instant, value in self.points if instant <= seconds]
        return min(found, default=None)

    def quality(self, seconds: float) -> float:
        """The same as one number, infinite for nothing."""
        value = self.at(seconds)
        return float("inf") if value is None else scalar(value)

    def reaches(self, goal: float) -> float:
        """Seconds until the quality is no worse than this, infinite if never."""
        return min((instant for instant, value in self.points if scalar(value) <= goal), default=float("inf"))

    def on_time(self) -> float:
        """Seconds until every order is met on time and no window broken, infinite if never."""
        clean = (instant for instant, value in self.points if not (value.unmet or value.breaks or value.late))
        return min(clean, default=float("inf"))

    def figures(self) -> Figures:
        """As written down."""
        points = [[round(instant, 4), list(astuple(value))] for instant, value in self.points]
        return {"points": points, "peak_mb": self.peak_mb, "proven": self.proven, "died": self.died}

    @classmethod
    def read(cls, figures: Figures) -> "Curve":
        """From what was written down."""
        points = tuple((float(instant), Score(*value)) for instant, value in figures["points"])
        return cls(points, figures["peak_mb"], figures["proven"], figures["died"])


def curve(method: str, problem: Problem, seconds: float, seed: int) -> Curve:
    """Search in a fresh process, which ends with its time whatever it does.

    Args:
        method: `PLANNER`, or a form of the plain model by its name in `plain.FORMS`.
        problem: What to plan.
        seconds: From the first line of planning on.
        seed: Of the search.

    Raises:
        AssertionError: the last plan breaks a rule, according to the brute-force verifier.
    """
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    child = context.Process(target=_child, args=(there, method, problem, seconds, seed), daemon=True)
    child.start()
    there.close()
    found, broken = Curve((), died=True), ""
    try:
        here.recv()
        if here.poll(seconds + _GRACE_S):
            found = here.recv()
            broken = here.recv() if here.poll(_VERIFYING_S) else "its plan could not be verified in time"
    except EOFError:
        broken = "its process died before its plan was verified" if found.points else ""
    finally:
        child.kill()
        child.join()
    if broken:
        raise AssertionError(f"{method}: {broken}")
    return found


def _child(pipe: Connection, method: str, problem: Problem, seconds: float, seed: int) -> None:
    found: list[tuple[float, Schedule]] = []
    pipe.send("ready")
    began = time.perf_counter()

    def keep(schedule: Schedule) -> None:
        found.append((time.perf_counter() - began, schedule))

    if method == PLANNER:
        proven = _planner(problem, seconds, seed, keep)
    else:
        proven = plain(method, problem, seconds, seed, keep)
    peak = peak_mb()
    points = tuple((instant, score(problem, schedule)) for instant, schedule in found if instant <= seconds + 0.5)
    pipe.send(Curve(points, peak, proven))
    broken = faults(problem, found[-1][1]) if found else []
    pipe.send(f"the plan breaks {len(broken)} rules: {broken[0]}" if broken else "")


def _planner(problem: Problem, seconds: float, seed: int, keep: Callable[[Schedule], None]) -> bool:
    began = time.perf_counter()
    guess = first_guess(problem)
    keep(guess)
    best = solve(problem, guess, seconds=seconds - (time.perf_counter() - began), seed=seed, on_better=keep)
    keep(best)
    return best.proven
