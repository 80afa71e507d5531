"""How long the solver may go on: seconds of the wall, or of the solver's own count when plans must repeat."""

import time
from collections.abc import Callable
from threading import Event, Thread

from ortools.sat.python import cp_model

EFFORT_PER_S = 0.15
"""The solver's own seconds that a free core gets through in one second, measured on the example kitchen."""
ROUND_COST_S = 0.15
"""What a model costs before it is searched; the solver's own count does not see it."""


class Budget:
    """Seconds to spend, shared among stages."""

    def __init__(self, seconds: float, *, deterministic: bool, stop: Callable[[], bool] | None = None) -> None:
        """Start the clock.

        Args:
            seconds: In all; with ``deterministic`` about as long on a free core, counted by the solver's own clock.
            deterministic: One worker and the solver's own clock, so that the same input gives the same plan.
            stop: Asked about twenty times a second; True ends the search with the best plan so far.
        """
        self.deterministic = deterministic
        self._left = seconds
        self._ends = time.monotonic() + seconds
        self._stop = stop

    @property
    def left(self) -> float:
        """Seconds left, at least 0."""
        if self._stop is not None and self._stop():
            return 0.0
        return max(0.0, self._left if self.deterministic else self._ends - time.monotonic())

    def spend(self, seconds: float) -> None:
        """Take off what was done without the solver; the wall's clock sees it by itself."""
        self._left -= seconds

    def run(
        self,
        solver: cp_model.CpSolver,
        model: cp_model.CpModel,
        seconds: float,
        callback: cp_model.CpSolverSolutionCallback | None = None,
        effort: float | None = None,
    ) -> cp_model.CpSolverStatus:
        """Solve for at most so many seconds of what is left, and take them off.

        Args:
            solver: From `new_solver`.
            model: What to solve.
            seconds: At most.
            callback: Told of each solution.
            effort: At most so many of the solver's own seconds too: the same on a busy machine.

        Raises:
            ValueError: the model is invalid, with the solver's own words.
        """
        seconds = min(seconds, self.left)
        if self.deterministic or effort is not None:
            whole = seconds * EFFORT_PER_S
            solver.parameters.max_deterministic_time = whole if effort is None else min(whole, effort)
        if not self.deterministic:
            solver.parameters.max_time_in_seconds = seconds
        ended = Event()
        if self._stop is not None:
            Thread(target=self._watch, args=(solver, ended), daemon=True).start()
        status = solver.solve(model, callback)
        ended.set()
        self._left -= solver.response_proto.deterministic_time / EFFORT_PER_S + ROUND_COST_S
        if status == cp_model.MODEL_INVALID:
            raise ValueError(f"the planner made an invalid model: {model.validate()}")
        return status

    def _watch(self, solver: cp_model.CpSolver, ended: Event) -> None:
        while not ended.wait(0.05):
            if self._stop is not None and self._stop():
                solver.stop_search()


def new_solver(budget: Budget, seed: int, workers: int, *, hurried: bool = False) -> cp_model.CpSolver:
    """A solver with a seed; one worker if plans must repeat; hurried, it starts to search sooner."""
    solver = cp_model.CpSolver()
    solver.parameters.random_seed = seed
    solver.parameters.num_workers = 1 if budget.deterministic else workers
    # It would take Ctrl-C away from the program, also for afterwards; whoever may end a search has `stop`.
    solver.parameters.catch_sigint_signal = False
    if hurried:
        # Measured on the example kitchen: they cost most of the first second and gain nothing in ten.
        solver.parameters.symmetry_level = 0
        solver.parameters.cp_model_probing_level = 0
    return solver
