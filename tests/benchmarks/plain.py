"""The other way: one constraint model of the whole plan in one piece, as strong as we can make it.

It has the planner's own variables, rules and goals, and the same two workers. What it lacks is the first plan, the
stages and the neighbourhoods. Every order is to be met and quality windows are rules, as is known to be possible in
planted kitchens: with windows left open it found far less. Which form suits the solver differs from kitchen to kitchen,
so several are tried, each for the whole time, and at each mark the best of them counts.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from orchestrator.planner import constraints, objective
from orchestrator.planner.budget import Budget, new_solver
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.read_off import read_off
from orchestrator.planner.score import WEIGHTS
from orchestrator.planner.solve import WORKERS
from orchestrator.planner.variables import Board, Setting


@dataclass(frozen=True, slots=True)
class Form:
    """One way to ask for the same."""

    weights: dict[str, int]
    hurried: bool = False
    """Less is worked out before the search, as in the planner's own models: at 20 batches mostly better."""


MILD = {"late": 1000, "waste": 100, "freshness": 10, "cleaning": 1, "crew": 1, "changes": 1}
FORMS = {
    "steep": Form({name: getattr(WEIGHTS, name) for name in MILD}),
    "mild": Form(MILD, hurried=True),
    "late": Form({"late": 1}, hurried=True),
}
"""The published weights; weights within 1 to 1000; lateness alone."""


class _Keep(cp_model.CpSolverSolutionCallback):
    def __init__(self, board: Board, keep: Callable[[Schedule], None]) -> None:
        super().__init__()
        self._board = board
        self._keep = keep

    def on_solution_callback(self) -> None:
        self._keep(read_off(self._board, self.value, "plain"))


def plain(form: str, problem: Problem, seconds: float, seed: int, keep: Callable[[Schedule], None]) -> bool:
    """Solve one model of everything.

    Args:
        form: Of the objective, by its name in `FORMS`.
        problem: What to plan.
        seconds: In all, the making of the model included.
        seed: Of the solver.
        keep: Told of each schedule found.

    Returns:
        Whether the last of them is proven to be the best by this objective.
    """
    began = time.perf_counter()
    weights = FORMS[form].weights
    board = Board(problem, Setting(preferences="freshness" in weights), None)
    for rule in constraints.ALL:
        rule(board)
    board.model.minimize(sum(weight * objective.EXPRESSIONS[name](board) for name, weight in weights.items()))
    budget = Budget(seconds - (time.perf_counter() - began), deterministic=False)
    solver = new_solver(budget, seed, WORKERS, hurried=FORMS[form].hurried)
    return budget.run(solver, board.model, max(0.1, budget.left), _Keep(board, keep)) == cp_model.OPTIMAL
