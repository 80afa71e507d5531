"""Planner workers for the child process: each is a top-level function, as the spawned child needs it."""

import os
import time
from multiprocessing.connection import Connection

from orchestrator.core.models import PlanAnswer, PlanRequest
from tests.fakes.plans import small_plan


def answering(connection: Connection) -> None:
    """Answers with the small plan; its seconds tell the process, so that a restart can be seen."""
    while True:
        request, _effort, _seconds = connection.recv()
        kitchen = PlanRequest.model_validate_json(request).kitchen
        connection.send(PlanAnswer(plan=small_plan(kitchen), seconds=float(os.getpid())).model_dump_json())


def for_any_kitchen(connection: Connection) -> None:
    """Answers with the plan of the small kitchen, whatever was asked."""
    while True:
        connection.recv()
        connection.send(PlanAnswer(plan=small_plan(), seconds=0.0).model_dump_json())


def dying(connection: Connection) -> None:
    """Ends at every question for a full plan."""
    while True:
        request, effort, _seconds = connection.recv()
        if effort == "full":
            os._exit(3)
        kitchen = PlanRequest.model_validate_json(request).kitchen
        connection.send(PlanAnswer(plan=small_plan(kitchen), seconds=float(os.getpid())).model_dump_json())


def sleeping(connection: Connection) -> None:
    """Never answers a question for a full plan."""
    while True:
        request, effort, _seconds = connection.recv()
        if effort == "full":
            time.sleep(3600)
        kitchen = PlanRequest.model_validate_json(request).kitchen
        connection.send(PlanAnswer(plan=small_plan(kitchen), seconds=float(os.getpid())).model_dump_json())


def babbling(connection: Connection) -> None:
    """Answers with what is no plan."""
    while True:
        connection.recv()
        connection.send('{"plan": 5}')
