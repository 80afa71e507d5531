"""Previews at a planner that cannot keep up: nobody waits without end, nor is it asked without end."""

import threading
from dataclasses import replace

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.asked import LATE
from display.changing import address
from display.previews import PATIENCE_S, PREVIEWS, TOLD_S, PreviewBook, scenario_of
from display.views import CoreViews
from orchestrator.core.models.change import Change
from orchestrator.core.models.change_crew import Absent
from orchestrator.core.models.questions import Answer, Question, WhatIfQuestion
from orchestrator.ports.planning import OnBetter
from tests.display.page import Page
from tests.display.test_helping import SlowGateway, tried
from tests.fakes.kitchens import at

AWAY: Change = Absent(crew="early-cook", start=at("Fri 06:00"), end=at("Fri 12:00"))  # type: ignore[arg-type]


class Late(SlowGateway):
    """Its planner gives no answer until it is let; then nobody waits for it any more."""

    def __init__(self) -> None:
        super().__init__()
        self.timeouts: list[float] = []
        self.over = threading.Event()

    def ask(self, question: Question, timeout_s: float = 60.0, on_better: OnBetter | None = None) -> Answer | object:  # type: ignore[override]
        self.timeouts.append(timeout_s)
        if self.let.is_set():
            return super().ask(question, timeout_s, on_better)
        assert self.over.wait(10)
        raise TimeoutError


class Seconds:
    """A clock of the book, set by hand."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def gateway() -> Late:
    made = Late()
    made.answers["what_if"] = tried(made)
    return made


def test_whoever_waits_through_new_plans_is_told_after_the_patience_that_the_planner_cannot_keep_up(
    gateway: Late,
) -> None:
    clock = Seconds()
    book = PreviewBook(gateway, clock)
    for _ in range(3):  # a new plan every forty seconds, and none of the questions answered
        assert not book.preview(gateway.snapshot(), scenario_of((AWAY,))).failed
        gateway.state = replace(gateway.state, revision=gateway.state.revision + 1)
        clock.now += 40
    gone = book.preview(gateway.snapshot(), scenario_of((AWAY,)))
    assert (gone.late, gone.answer) == (True, None)
    assert gateway.timeouts == [PATIENCE_S, PATIENCE_S - 40, PATIENCE_S - 80]
    gateway.over.set()


def test_nothing_is_asked_by_looking_until_all_who_wait_have_been_told(gateway: Late) -> None:
    clock = Seconds()
    book = PreviewBook(gateway, clock)
    gateway.over.set()
    for seconds in (0.0, 2.0, TOLD_S - 3.0):
        clock.now += seconds
        assert book.preview(gateway.snapshot(), scenario_of((AWAY,)), 10).trouble == LATE
    assert len(gateway.timeouts) == 1
    gateway.let.set()
    clock.now += 5.0  # that is half a minute after the first look that found it failed
    assert book.preview(gateway.snapshot(), scenario_of((AWAY,)), 10).answer is not None
    assert gateway.timeouts == [PATIENCE_S] * 2, "who comes then waits as long as anybody"


def test_what_was_answered_is_asked_anew_for_the_next_plan_with_all_the_patience(gateway: Late) -> None:
    clock = Seconds()
    book = PreviewBook(gateway, clock)
    gateway.let.set()
    assert book.preview(gateway.snapshot(), scenario_of((AWAY,)), 10).answer is not None
    gateway.state = replace(gateway.state, revision=gateway.state.revision + 1)
    clock.now += 3600
    assert book.preview(gateway.snapshot(), scenario_of((AWAY,)), 10).answer is not None
    assert gateway.timeouts == [PATIENCE_S] * 2


def page(client: FlaskClient, path: str, language: str = "en") -> Page:
    client.set_cookie("language", language)
    answer = client.get(path)
    assert answer.status_code == 200
    return Page(answer.text)


@pytest.mark.parametrize("path", ["/changes", "/planning", "/orders/SAT-STALL/help/1"])
def test_page_says_so_in_words_stops_looking_and_offers_to_try_again(gateway: Late, path: str) -> None:
    web = create_app(gateway, CoreViews()).web
    client, book = web.test_client(), web.extensions[PREVIEWS]
    gateway.let.set()
    client.get("/orders/SAT-STALL/help")
    gateway.let.clear()
    gateway.over.set()
    there = path if "help" in path else f"{path}?c={address((AWAY,))['c']}"
    shown = page(client, there)
    assert "The planner cannot keep up: no answer within 90 s. Nothing has been changed." in shown.text
    assert "El planificador no da abasto: sin respuesta en 90 s." in page(client, there, "es").text
    assert 'data-preview="0"' in client.get(there).text
    asked = [q for q in gateway.questions if isinstance(q, WhatIfQuestion)]
    form = page(client, there).form("/changes/again")
    assert form.buttons == ["Try again"]
    gateway.let.set()
    answer = client.post("/changes/again", data=form.fields)
    assert answer.status_code == 303
    again = page(client, answer.headers["Location"])
    assert "Present plan" in again.text
    assert asked == []
    assert len([q for q in gateway.questions if isinstance(q, WhatIfQuestion)]) == 1
    assert isinstance(book, PreviewBook)


def test_help_that_failed_is_told_and_asked_anew_by_a_button_not_by_looking(gateway: Late) -> None:
    client = create_app(gateway, CoreViews()).web.test_client()
    gateway.over.set()
    for _ in range(2):
        answer = client.get("/orders/SAT-STALL/help")
        assert "The planner gave no answer: no answer in time" in Page(answer.text).text
        assert "Refresh" not in answer.headers
    assert len(gateway.timeouts) == 1
    gateway.let.set()
    assert Page(answer.text).form("/orders/SAT-STALL/help").buttons == ["Look again"]
    client.post("/orders/SAT-STALL/help")
    assert "SAT-STALL cannot be ready" in Page(client.get("/orders/SAT-STALL/help").text).text
