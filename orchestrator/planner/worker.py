"""A planner's process: a thread listens for questions and for "stop", the main thread answers one after the other."""

import threading
from collections.abc import Callable
from multiprocessing.connection import Connection
from queue import SimpleQueue

from orchestrator.core.models.questions import ANSWERS, QUESTIONS, PlanProgress
from orchestrator.planner.answers import answer


def warm_up() -> None:
    """Load the solver once, so that the first plan does not wait for it."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    model.add(model.new_int_var(0, 1, "warm") == 1)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.solve(model)
    import orchestrator.planner.risk  # noqa: F401 - numpy and scipy, which every full plan asks for its chances


def serve(connection: Connection) -> None:
    """Answer questions until the other side closes the pipe.

    Args:
        connection: In: ``("ask", number, json)`` of a `Question`, and ``("stop", number, "")`` to end that one early.
            Out: ``("better", number, json)`` of a `PlanProgress` meanwhile, then ``("answer", number, json)`` of an
            `Answer` or ``("failed", number, words)``.
    """
    line = _Line(connection)
    threading.Thread(target=line.listen, name="listener", daemon=True).start()
    while (asked := line.questions.get()) is not None:
        number, question_json, stopped = asked
        line.send(*_answered(number, question_json, stopped.is_set, line.send))


Send = Callable[[str, int, str], None]


def _answered(number: int, question_json: str, stop: Callable[[], bool], send: Send) -> tuple[str, int, str]:
    def better(progress: PlanProgress) -> None:
        send("better", number, progress.model_dump_json())

    try:
        question = QUESTIONS.validate_json(question_json)
        return "answer", number, ANSWERS.dump_json(answer(question, stop, better)).decode()
    except Exception as error:
        # The process must outlive any question; the answer says what went wrong.
        return "failed", number, f"planning failed: {type(error).__name__}: {error}"


class _Line:
    """Both ends of the pipe as the child uses them."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._sending = threading.Lock()
        self._stops: dict[int, threading.Event] = {}
        self.questions: SimpleQueue[tuple[int, str, threading.Event] | None] = SimpleQueue()

    def listen(self) -> None:
        """Until the pipe closes: then nobody waits for an answer any more."""
        while True:
            try:
                what, number, told = self._connection.recv()
            except (EOFError, OSError):
                break
            if what == "ask":
                self._stops = {number: threading.Event()}  # one at a time: what was asked before has been answered
                self.questions.put((number, told, self._stops[number]))
            elif number in self._stops:
                self._stops[number].set()
        for stop in self._stops.values():
            stop.set()
        self.questions.put(None)

    def send(self, what: str, number: int, told: str) -> None:
        """From any thread; solutions come from the solver's."""
        with self._sending:
            try:
                self._connection.send((what, number, told))
            except OSError:  # the other side has gone: the listener ends everything
                return
