"""How good a plan is after how many seconds: a search in a process of its own, and what it found when."""

import multiprocessing
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Literal

from ortools.sat.python import cp_model

from orchestrator.planner import constraints, objective
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.read_off import read_off
from orchestrator.planner.score import WEIGHTS, Score, scalar, score
from orchestrator.planner.solve import WORKERS, solve
from orchestrator.planner.variables import Board, Setting
from tests.benchmarks.memory import peak_mb
from tests.planner.verifier import faults

Method = Literal["staged", "plain"]
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


def curve(method: Method, problem: Problem, seconds: float, seed: int) -> Curve:
    """Search in a fresh process, which ends with its time whatever it does.

    Args:
        method: ``staged``: what the planner does, the first plan included. ``plain``: one constraint model of
            everything at the published weights; no first plan, no stages, no neighbourhoods.
        problem: What to plan.
        seconds: From the first line of planning on.
        seed: Of the search.

    Raises:
        AssertionError: the planner's last plan breaks a rule, according to the brute-force verifier.
    """
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    child = context.Process(target=_child, args=(there, method, problem, seconds, seed), daemon=True)
    child.start()
    there.close()
    here.recv()
    found, broken = Curve(()), ""
    try:
        if here.poll(seconds + _GRACE_S):
            found = here.recv()
            broken = here.recv() if here.poll(_VERIFYING_S) else "its plan could not be verified in time"
    except EOFError:
        print(f"({method}: the process died, of too much memory perhaps)", file=sys.stderr)
    child.kill()
    child.join()
    if broken:
        raise AssertionError(f"{method}: {broken}")
    return found


def _child(pipe: Connection, method: Method, problem: Problem, seconds: float, seed: int) -> None:
    found: list[tuple[float, Schedule]] = []
    pipe.send("ready")
    began = time.perf_counter()

    def keep(schedule: Schedule) -> None:
        found.append((time.perf_counter() - began, schedule))

    if method == "staged":
        guess = first_guess(problem)
        keep(guess)
        keep(solve(problem, guess, seconds=seconds - (time.perf_counter() - began), seed=seed, on_better=keep))
    else:
        _plain(problem, seconds, seed, keep)
    peak = peak_mb()
    points = tuple((instant, score(problem, schedule)) for instant, schedule in found if instant <= seconds + 0.5)
    pipe.send(Curve(points, peak))
    broken = faults(problem, found[-1][1]) if found else []
    pipe.send(f"the plan breaks {len(broken)} rules: {broken[0]}" if broken else "")


class _Keep(cp_model.CpSolverSolutionCallback):
    def __init__(self, board: Board, keep: Callable[[Schedule], None]) -> None:
        super().__init__()
        self._board = board
        self._keep = keep

    def on_solution_callback(self) -> None:
        self._keep(read_off(self._board, self.value, "plain"))


def _plain(problem: Problem, seconds: float, seed: int, keep: Callable[[Schedule], None]) -> None:
    began = time.perf_counter()
    board = Board(problem, Setting(slack=True, preferences=True), None)
    for rule in constraints.ALL:
        rule(board)
    board.model.minimize(sum(getattr(WEIGHTS, name) * goal(board) for name, goal in objective.EXPRESSIONS.items()))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = max(0.1, seconds - (time.perf_counter() - began))
    solver.parameters.num_workers = WORKERS
    solver.parameters.random_seed = seed
    solver.solve(board.model, _Keep(board, keep))
