"""The planner's child, spoken to over a pipe as its parent does."""

import multiprocessing
import threading

from orchestrator.core.models import PlanAnswer
from orchestrator.core.models.questions import ANSWERS, QUESTIONS, PlanQuestion
from orchestrator.planner.worker import serve
from tests.fakes.tiny import tiny_request


def test_serve_answers_over_a_pipe_and_outlives_a_bad_question() -> None:
    here, there = multiprocessing.Pipe()
    thread = threading.Thread(target=serve, args=(there,), daemon=True)
    thread.start()
    here.send("{}")
    bad = here.recv()
    asked = PlanQuestion(request=tiny_request(), effort="repair", seconds=1.0)
    here.send(QUESTIONS.dump_json(asked).decode())
    outcome, told = here.recv()
    here.close()
    thread.join(timeout=5)
    assert (bad[0], bad[1].startswith("planning failed: ValidationError")) == ("failed", True)
    answer = ANSWERS.validate_json(told)
    assert isinstance(answer, PlanAnswer)
    assert (outcome, answer.plan is not None, thread.is_alive()) == ("answer", True, False)
