"""Planner workers for the child process: each is a top-level function, as the spawned child needs it."""

import os
import time
from multiprocessing.connection import Connection

from orchestrator.core.models import Kitchen, PlanAnswer
from orchestrator.core.models.questions import QUESTIONS, PlanProgress, PlanQuestion
from tests.fakes.plans import small_plan


def _asked(connection: Connection) -> tuple[int, PlanQuestion]:
    """The next question; a "stop" that came too late is passed over."""
    while True:
        what, number, told = connection.recv()
        if what == "ask":
            question = QUESTIONS.validate_json(told)
            assert isinstance(question, PlanQuestion)
            return number, question


def _tell(connection: Connection, number: int, kitchen: Kitchen | None, seconds: float) -> None:
    answer = PlanAnswer(plan=small_plan(kitchen) if kitchen else small_plan(), seconds=seconds)
    connection.send(("answer", number, answer.model_dump_json()))


def answering(connection: Connection) -> None:
    """Answers with the small plan; its seconds tell the process, so that a restart can be seen."""
    while True:
        number, question = _asked(connection)
        _tell(connection, number, question.request.kitchen, float(os.getpid()))


def for_any_kitchen(connection: Connection) -> None:
    """Answers with the plan of the small kitchen, whatever was asked."""
    while True:
        number, _ = _asked(connection)
        _tell(connection, number, None, 0.0)


def dying(connection: Connection) -> None:
    """Ends at every question for more than a second."""
    while True:
        number, question = _asked(connection)
        if question.seconds > 1:
            os._exit(3)
        _tell(connection, number, question.request.kitchen, float(os.getpid()))


def deaf(connection: Connection) -> None:
    """Never answers a question for more than a second, nor hears that it should stop, but tells that it has begun."""
    while True:
        number, question = _asked(connection)
        if question.seconds > 1:
            connection.send(("better", number, PlanProgress(seconds=0.0, terms=()).model_dump_json()))
            time.sleep(3600)
        _tell(connection, number, question.request.kitchen, float(os.getpid()))


def searching(connection: Connection) -> None:
    """Tells of a better plan at once, and answers a question for more than a second when it is told to stop."""
    while True:
        number, question = _asked(connection)
        if question.seconds > 1:
            connection.send(("better", number, PlanProgress(seconds=0.0, terms=()).model_dump_json()))
            assert connection.recv() == ("stop", number, "")
        _tell(connection, number, question.request.kitchen, float(os.getpid()))


def babbling(connection: Connection) -> None:
    """Answers with what is no plan."""
    while True:
        number, _ = _asked(connection)
        connection.send(("answer", number, '{"kind": "plan", "plan": 5}'))


def raving(connection: Connection) -> None:
    """Tells of a better plan in no words at all, and answers only questions for less than a second."""
    while True:
        number, question = _asked(connection)
        if question.seconds >= 1:
            connection.send(("better", number, "{"))
        else:
            _tell(connection, number, question.request.kitchen, float(os.getpid()))


def idle(connection: Connection) -> None:
    """Lives, and answers nothing."""
    while True:
        connection.recv()


def improving(connection: Connection) -> None:
    """Tells of a better plan, and answers a good second later."""
    while True:
        number, question = _asked(connection)
        connection.send(("better", number, PlanProgress(seconds=0.0, terms=()).model_dump_json()))
        time.sleep(1.5)
        _tell(connection, number, question.request.kitchen, float(os.getpid()))
