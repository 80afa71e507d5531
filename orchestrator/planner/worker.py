"""The planner's own process: reads questions from a pipe and answers them until it is closed."""

from multiprocessing.connection import Connection

from orchestrator.core.models.questions import ANSWERS, QUESTIONS
from orchestrator.planner.answers import answer


def warm_up() -> None:
    """Load the solver once, so that the first plan does not wait for it."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    model.add(model.new_int_var(0, 1, "warm") == 1)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.solve(model)


def serve(connection: Connection) -> None:
    """Answer questions until the other side closes the pipe.

    Args:
        connection: Carries the JSON of a `Question` in; out ``("answer", json)`` or ``("failed", words)``.
    """
    warm_up()
    while True:
        try:
            question_json = connection.recv()
        except (EOFError, OSError):
            return
        try:
            told = ("answer", ANSWERS.dump_json(answer(QUESTIONS.validate_json(question_json))).decode())
        except Exception as error:
            # The process must outlive any question; the answer says what went wrong.
            told = ("failed", f"planning failed: {type(error).__name__}: {error}")
        connection.send(told)
