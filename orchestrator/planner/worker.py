"""The planner's own process: reads requests from a pipe and answers them until it is closed."""

from multiprocessing.connection import Connection

from orchestrator.core.models import PlanAnswer, PlanRequest
from orchestrator.planner.plan import Effort, make_plan


def warm_up() -> None:
    """Load the solver once, so that the first plan does not wait for it."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    model.add(model.new_int_var(0, 1, "warm") == 1)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.solve(model)


def answer(request_json: str, effort: Effort, seconds: float) -> str:
    """One request, as JSON in and out.

    Raises:
        Exception: whatever made planning fail; `serve` turns it into an answer without a plan.
    """
    request = PlanRequest.model_validate_json(request_json)
    return make_plan(request, effort=effort, seconds=seconds).model_dump_json()


def serve(connection: Connection) -> None:
    """Answer requests until the other side closes the pipe.

    Args:
        connection: Carries ``(request_json, effort, seconds)`` in and the JSON of a `PlanAnswer` out.
    """
    warm_up()
    while True:
        try:
            request_json, effort, seconds = connection.recv()
        except (EOFError, OSError):
            return
        try:
            told = answer(request_json, effort, seconds)
        except Exception as error:
            # The process must outlive any request; the answer says what went wrong.
            said = f"planning failed: {type(error).__name__}: {error}"
            told = PlanAnswer(plan=None, violations=(said,), seconds=0.0).model_dump_json()
        connection.send(told)
