"""The planner's child, spoken to over a pipe as its parent does."""

import multiprocessing
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection

from orchestrator.core.models import PlanAnswer
from orchestrator.core.models.questions import ANSWERS, QUESTIONS, PlanProgress, PlanQuestion, RemediesQuestion
from orchestrator.planner.worker import serve
from tests.fakes.tiny import at, second_product, tiny_data, tiny_request
from tests.planner.planned import planned


@contextmanager
def served() -> Iterator[Connection]:
    here, there = multiprocessing.Pipe()
    thread = threading.Thread(target=serve, args=(there,), daemon=True)
    thread.start()
    yield here
    here.close()
    thread.join(timeout=5)
    assert not thread.is_alive()


def asked(effort: str, seconds: float) -> str:
    """More than one model proves at once: two products, so that there is something to look for."""
    data = tiny_data()
    data["recipes"].append(second_product())
    data["orders"][0]["lines"].append({"product": "hazelnut-custard", "quantity": "3 L"})
    question = PlanQuestion.model_validate({"request": tiny_request(data), "effort": effort, "seconds": seconds})
    return QUESTIONS.dump_json(question).decode()


def test_serve_answers_over_a_pipe_and_outlives_a_bad_question() -> None:
    with served() as here:
        here.send(("ask", 1, "{}"))
        bad = here.recv()
        here.send(("ask", 2, asked("repair", 1.0)))
        outcome, number, told = here.recv()
    assert (bad[:2], bad[2].startswith("planning failed: ValidationError")) == (("failed", 1), True)
    answer = ANSWERS.validate_json(told)
    assert isinstance(answer, PlanAnswer)
    assert (outcome, number, answer.plan is not None) == ("answer", 2, True)


def test_serve_told_to_stop_answers_the_best_so_far() -> None:
    with served() as here:
        here.send(("ask", 7, asked("full", 3600.0)))
        here.send(("stop", 7, ""))
        assert here.poll(60)
        while (message := here.recv())[0] == "better":
            pass
    answer = ANSWERS.validate_json(message[2])
    assert isinstance(answer, PlanAnswer)
    assert (message[:2], answer.plan is not None, answer.violations) == (("answer", 7), True, ())


def test_serve_tells_how_far_the_search_for_what_helps_is() -> None:
    data = tiny_data()
    data["orders"][0]["due"] = at(1, "10:00")
    request = tiny_request(data)
    question = RemediesQuestion(request=request, plan=planned(request), seconds=20.0)
    with served() as here:
        here.send(("ask", 3, QUESTIONS.dump_json(question).decode()))
        told: list[PlanProgress] = []
        while (message := here.recv())[0] == "better":
            told.append(PlanProgress.model_validate_json(message[2]))
    assert message[:2] == ("answer", 3)
    assert [one.helps.doing for one in told if one.helps is not None][:1] == ["conflict"]
    assert {one.helps.doing for one in told if one.helps is not None} == {"conflict", "remedies"}


def test_serve_stop_for_another_question_is_passed_over() -> None:
    with served() as here:
        here.send(("stop", 8, ""))
        here.send(("ask", 8, asked("repair", 1.0)))
        here.send(("stop", 7, ""))
        assert here.recv()[:2] == ("answer", 8)
        assert not here.poll(0)


def test_quick_process_answers_a_repair_without_the_solver() -> None:
    said = """
import json, sys
from orchestrator.core.models.questions import QUESTIONS
from orchestrator.bootstrap import planner_child
from orchestrator.planner.answers import answer
answered = answer(QUESTIONS.validate_json(sys.stdin.read()))
print(json.dumps([answered.plan is not None, sorted(m for m in sys.modules if m.split(".")[0] == "ortools")]))
"""
    done = subprocess.run(
        [sys.executable, "-c", said], input=asked("repair", 1.0), capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[true, []]"
