"""Planner workers for the child process: each is a top-level function, as the spawned child needs it."""

import os
import time
from multiprocessing.connection import Connection

from orchestrator.core.models import Kitchen, PlanAnswer
from orchestrator.core.models.questions import QUESTIONS, PlanQuestion
from tests.fakes.plans import small_plan


def _asked(connection: Connection) -> PlanQuestion:
    question = QUESTIONS.validate_json(connection.recv())
    assert isinstance(question, PlanQuestion)
    return question


def _tell(connection: Connection, kitchen: Kitchen | None, seconds: float) -> None:
    answer = PlanAnswer(plan=small_plan(kitchen) if kitchen else small_plan(), seconds=seconds)
    connection.send(("answer", answer.model_dump_json()))


def answering(connection: Connection) -> None:
    """Answers with the small plan; its seconds tell the process, so that a restart can be seen."""
    while True:
        _tell(connection, _asked(connection).request.kitchen, float(os.getpid()))


def for_any_kitchen(connection: Connection) -> None:
    """Answers with the plan of the small kitchen, whatever was asked."""
    while True:
        connection.recv()
        _tell(connection, None, 0.0)


def dying(connection: Connection) -> None:
    """Ends at every question for a full plan."""
    while True:
        question = _asked(connection)
        if question.effort == "full":
            os._exit(3)
        _tell(connection, question.request.kitchen, float(os.getpid()))


def sleeping(connection: Connection) -> None:
    """Never answers a question for a full plan."""
    while True:
        question = _asked(connection)
        if question.effort == "full":
            time.sleep(3600)
        _tell(connection, question.request.kitchen, float(os.getpid()))


def babbling(connection: Connection) -> None:
    """Answers with what is no plan."""
    while True:
        connection.recv()
        connection.send(("answer", '{"kind": "plan", "plan": 5}'))
