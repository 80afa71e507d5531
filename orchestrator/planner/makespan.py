"""The solver core on its own: everything done as soon as can be, without orders, as in published instances."""

from dataclasses import dataclass
from typing import Literal

from ortools.sat.python import cp_model

from orchestrator.planner import constraints
from orchestrator.planner.budget import Budget, new_solver
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.read_off import read_off
from orchestrator.planner.solve import METHOD, WORKERS
from orchestrator.planner.variables import Board, Setting

Status = Literal["optimal", "feasible", "infeasible", "unknown"]


@dataclass(frozen=True, slots=True)
class Shortest:
    """What was found, and what is proven."""

    status: Status
    """Infeasible is proven; unknown: nothing was found in time."""
    schedule: Schedule | None = None
    makespan: int | None = None
    """Minutes until the last job of the schedule ends."""
    bound: int | None = None
    """No schedule is shorter: proven by the solver. None where it proved nothing."""


def shortest(
    problem: Problem, *, seconds: float, seed: int = 0, deterministic: bool = False, workers: int = WORKERS
) -> Shortest:
    """The schedule whose last job ends soonest, by the variables and rules that kitchens are planned with.

    Args:
        problem: Jobs, machines and crew; orders are not looked at.
        seconds: To spend at most.
        seed: Of the solver.
        deterministic: See `solve`.
        workers: Threads of the solver; one if ``deterministic``.

    Returns:
        The best schedule found, with its makespan in minutes and the solver's lower bound, or why there is none.

    Raises:
        ValueError: the model is invalid, with the solver's own words; or jobs follow each other in a circle.
    """
    budget = Budget(seconds, deterministic=deterministic)
    board = Board(problem, Setting(), None)
    for rule in constraints.ALL:
        rule(board)
    makespan = board.integer(0, problem.horizon, None)
    board.model.add_max_equality(makespan, [jobvars.end for _, _, jobvars in board.placed()])
    board.model.minimize(makespan)
    solver = new_solver(budget, seed, workers)
    status = budget.run(solver, board.model, budget.left)
    if status == cp_model.INFEASIBLE:
        return Shortest("infeasible")
    bound = max(0, round(solver.best_objective_bound))
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Shortest("unknown", bound=bound or None)
    found = read_off(board, solver.value, METHOD)
    proven = status == cp_model.OPTIMAL
    return Shortest("optimal" if proven else "feasible", found, int(solver.value(makespan)), bound)
