"""The solver core on its own: everything done as soon as can be, without orders, as in published instances."""

from ortools.sat.python import cp_model

from orchestrator.planner import constraints
from orchestrator.planner.budget import Budget, new_solver
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.read_off import read_off
from orchestrator.planner.solve import METHOD, WORKERS
from orchestrator.planner.variables import Board, Setting


def shortest(problem: Problem, *, seconds: float, seed: int = 0, deterministic: bool = False) -> Schedule | None:
    """The schedule whose last job ends soonest, by the variables and rules that kitchens are planned with.

    Args:
        problem: Jobs, machines and crew; orders are not looked at.
        seconds: To spend at most.
        seed: Of the solver.
        deterministic: See `solve`.

    Returns:
        The best schedule found, with its makespan in minutes among the terms and the solver's lower bound; none if
        there is none or none was found in time.

    Raises:
        ValueError: the model is invalid, with the solver's own words.
    """
    budget = Budget(seconds, deterministic=deterministic)
    board = Board(problem, Setting(), None)
    for rule in constraints.ALL:
        rule(board)
    makespan = board.integer(0, problem.horizon, None)
    board.model.add_max_equality(makespan, [jobvars.end for _, _, jobvars in board.placed()])
    board.model.minimize(makespan)
    solver = new_solver(budget, seed, WORKERS)
    status = budget.run(solver, board.model, budget.left)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    found = read_off(board, solver.value, METHOD)
    return Schedule(
        found.places,
        found.cleans,
        METHOD,
        terms=(("makespan", 1, float(solver.value(makespan))),),
        bound=solver.best_objective_bound,
        proven=status == cp_model.OPTIMAL,
    )
