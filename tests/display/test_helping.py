"""What helps an order in trouble: asked once for each plan, in the background, and shown where its reason stands."""

import threading
from dataclasses import replace
from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.helping import RemedyBook
from display.views import CoreViews
from orchestrator.core.ids import OrderId, TaskId
from orchestrator.core.kitchen_events import KitchenChanged
from orchestrator.core.models import Move
from orchestrator.core.models.change_crew import StartEarlier
from orchestrator.core.models.outcome import Outcome, comparison
from orchestrator.core.models.questions import (
    Answer,
    HelpProgress,
    PlanProgress,
    Question,
    RemediesAnswer,
    RemediesQuestion,
    WhatIfAnswer,
    WhatIfQuestion,
)
from orchestrator.core.models.remedy import Conflict, ConflictPart, PartKind, Remedy, RemedyKind
from orchestrator.ports.planning import OnBetter
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing

ORDER = OrderId("SAT-STALL")
CHURN = ConflictPart(kind=PartKind.MACHINE, thing="churn", says="the Churn takes one run at a time")
CONFLICT = Conflict(
    order=ORDER, wants="late", parts=(CHURN,), says="SAT-STALL cannot be ready", irreducible=True, tried=9
)
EARLY = StartEarlier(crew="early-cook", start=at("Thu 04:30"))  # type: ignore[arg-type]
REMEDY = Remedy(
    order=ORDER,
    kind=RemedyKind.EARLIER,
    changes=(EARLY,),
    says="Early cook begins Thu 26 Nov 04:30 instead of 06:00",
    cost=135,
    gives="SAT-STALL is ready in time",
    outlooks=(),
    moves=3,
)
HELP = RemediesAnswer(conflicts=(CONFLICT,), remedies=(REMEDY,))


class SlowGateway(KitchenGateway):
    """Answers when it is let."""

    def __init__(self) -> None:
        state = base_ageing()
        assert state.plan is not None
        assert state.kitchen is not None
        outlook = next(o for o in state.plan.outlooks if o.order == ORDER)
        assert outlook.ready_at is not None
        due = outlook.ready_at - timedelta(minutes=20)
        late = outlook.model_copy(update={"late_min": 20, "margin_min": 0, "reason": "the churn is taken"})
        plan = state.plan.model_copy(
            update={"outlooks": tuple(late if o.order == ORDER else o for o in state.plan.outlooks)}
        )
        orders = (o.model_copy(update={"due": due}) if o.id == ORDER else o for o in state.kitchen.orders)
        kitchen = state.kitchen.model_copy(update={"orders": tuple(orders)})
        super().__init__(replace(state, plan=plan, kitchen=kitchen), at("Wed 15:00"))
        self.let = threading.Event()
        self.heard: OnBetter | None = None
        self.answers = {"remedies": HELP}

    def ask(self, question: Question, timeout_s: float = 60.0, on_better: OnBetter | None = None) -> Answer | object:  # type: ignore[override]
        self.heard = on_better
        assert self.let.wait(10)
        return super().ask(question, timeout_s)


@pytest.fixture
def gateway() -> SlowGateway:
    return SlowGateway()


@pytest.fixture
def client(gateway: SlowGateway) -> FlaskClient:
    return create_app(gateway, CoreViews()).web.test_client()


def test_orders_in_trouble_lead_to_what_helps(client: FlaskClient) -> None:
    page = Page(client.get("/orders").text)
    assert page.links["What helps"] == "/orders/SAT-STALL/help"


def test_help_page_loads_again_until_the_planner_has_answered(client: FlaskClient, gateway: SlowGateway) -> None:
    first = client.get("/orders/SAT-STALL/help")
    assert (first.headers.get("Refresh"), "The planner is looking for" in first.text) == ("4", True)
    gateway.let.set()
    answer = client.get("/orders/SAT-STALL/help")
    page = Page(answer.text)
    assert "Refresh" not in answer.headers
    assert (page.inline_styles, page.inline_scripts) == ([], [])
    for words in (CONFLICT.says, CHURN.says, "Earlier start", REMEDY.says, REMEDY.gives, "cost 135"):
        assert words in page.text


def far(doing: str, tried: int, left: int) -> PlanProgress:
    told = {"order": ORDER, "turn": 1, "of": 2, "doing": doing, "tried": tried, "left": left}
    return PlanProgress(seconds=7.9, helps=HelpProgress.model_validate(told))


def test_help_page_says_how_far_the_search_is_in_as_many_lines_throughout(
    client: FlaskClient, gateway: SlowGateway
) -> None:
    def lines() -> list[str]:
        text = client.get("/orders/SAT-STALL/help").text
        status = text[text.index('<div role="status">') : text.index("</div>", text.index('<div role="status">'))]
        return [part.split("</li>")[0] for part in status.split("<li>")[1:]]

    assert lines() == ["The planner has not begun with it: new plans go first.", "–", "–"]
    assert gateway.heard is not None
    gateway.heard(far("conflict", 0, 0))
    assert lines() == [
        "7\u00a0s so far, 40\u00a0s at most. Now SAT-STALL, order 1 of 2 that are looked at.",
        "What stands in the way: the first plan is being tried.",
        "What helps: tried after that.",
    ]
    gateway.heard(far("conflict", 14, 23))
    assert lines()[1] == "What stands in the way: 14 plans tried, 23 things could still be it."
    gateway.heard(far("remedies", 3, 6))
    assert lines()[1:] == ["What stands in the way: looked for.", "What helps: 3 of 9 ways tried."]
    gateway.let.set()
    assert "so far" not in client.get("/orders/SAT-STALL/help").text


def test_book_asks_once_for_a_plan_and_anew_for_the_next(gateway: SlowGateway) -> None:
    gateway.let.set()
    book = RemedyBook(gateway)
    for _ in range(3):
        assert book.answer(gateway.snapshot(), 10) == (HELP, "")
    assert [type(question) for question in gateway.questions] == [RemediesQuestion]
    gateway.state = replace(gateway.state, revision=gateway.state.revision + 1)
    assert book.answer(gateway.snapshot(), 10) == (HELP, "")
    assert len(gateway.questions) == 2


def test_book_asks_nothing_for_a_plan_without_trouble() -> None:
    gateway = KitchenGateway(base_ageing(), at("Wed 15:00"))
    assert gateway.state.plan is not None
    on_time = tuple(o.model_copy(update={"met": True, "late_min": 0}) for o in gateway.state.plan.outlooks)
    gateway.state = replace(
        gateway.state, plan=gateway.state.plan.model_copy(update={"outlooks": on_time, "breaks": ()})
    )
    assert RemedyBook(gateway).answer(gateway.snapshot(), 10) == (RemediesAnswer(), "")
    assert gateway.questions == []


def test_book_says_why_there_is_no_answer_and_asks_again_when_asked_to(gateway: SlowGateway) -> None:
    gateway.let.set()
    gateway.answers = {}
    book = RemedyBook(gateway)
    assert book.answer(gateway.snapshot(), 10) == (None, "no answer to 'remedies'")
    book.again()
    gateway.answers = {"remedies": HELP}
    assert book.answer(gateway.snapshot(), 10) == (HELP, "")


def test_interface_tells_the_same_with_the_plan_s_revision(client: FlaskClient, gateway: SlowGateway) -> None:
    assert client.get("/api/v1/remedies").json["ready"] is False
    gateway.let.set()
    told = client.get("/api/v1/remedies").json
    assert (told["ready"], told["revision"]) == (True, gateway.state.revision)
    assert told["conflicts"][0]["parts"][0]["thing"] == "churn"
    assert told["remedies"][0]["changes"][0]["change"] == "start earlier"
    assert client.get("/orders/NONE/help").status_code == 404


def tried(gateway: SlowGateway) -> WhatIfAnswer:
    """The remedy brings the order in time and moves one task."""
    plan = gateway.state.plan
    assert plan is not None
    on_time = tuple(o.model_copy(update={"met": True, "late_min": 0, "margin_min": 25}) for o in plan.outlooks)
    move = Move(task=TaskId("B1.churn"), title="Churn", before=at("Thu 09:00"), after=at("Thu 05:00"), what="earlier")
    base = Outcome(name="present plan", plan=plan, outlooks=plan.outlooks)
    with_it = Outcome(name="earlier start", plan=plan, outlooks=on_time, moves=(move,))
    return WhatIfAnswer(base=base, scenarios=(with_it,), table=comparison((base, with_it)))


def test_remedy_is_shown_as_a_what_if_beside_the_present_plan_and_changes_nothing(
    client: FlaskClient, gateway: SlowGateway
) -> None:
    gateway.let.set()
    gateway.answers["what_if"] = tried(gateway)
    assert client.get("/orders/SAT-STALL/help").status_code == 200
    page = Page(client.get("/orders/SAT-STALL/help").text)
    assert page.links["Show what it would change"] == "/orders/SAT-STALL/help/1"
    before = gateway.state
    answer = client.get("/orders/SAT-STALL/help/1")
    shown = Page(answer.text)
    assert "Refresh" not in answer.headers
    text = shown.text.replace("\u00a0", " ")
    for words in (REMEDY.says, "At risk · 20 min late", "On time · 25 min spare", "Churn", "Nothing has been changed."):
        assert words in text
    question = gateway.questions[-1]
    assert isinstance(question, WhatIfQuestion)
    assert [scenario.changes for scenario in question.scenarios] == [REMEDY.changes]
    assert gateway.state == before
    client.get("/orders/SAT-STALL/help/1")
    assert len([q for q in gateway.questions if isinstance(q, WhatIfQuestion)]) == 1
    assert client.get("/orders/SAT-STALL/help/2").status_code == 404


def test_remedy_is_carried_out_from_its_preview_with_one_button(client: FlaskClient, gateway: SlowGateway) -> None:
    gateway.let.set()
    gateway.answers["what_if"] = tried(gateway)
    client.get("/orders/SAT-STALL/help")
    form = Page(client.get("/orders/SAT-STALL/help/1").text).form("/changes")
    assert (form.fields["person"], form.buttons) == ("manager", ["Carry it out as Manager"])
    assert client.post("/changes", data=form.fields).headers["Location"] == "/orders"
    done = gateway.records[0].event
    assert isinstance(done, KitchenChanged)
    assert (done.changes, done.person) == (REMEDY.changes, "manager")
    assert gateway.state.kitchen is not None
    cook = next(member for member in gateway.state.kitchen.crew if member.id == "early-cook")
    assert cook.shifts[1].start == at("Thu 04:30")


def test_preview_without_a_plan_says_why(client: FlaskClient, gateway: SlowGateway) -> None:
    gateway.let.set()
    none = Outcome(name="earlier start", violations=("nobody is there",))
    base = Outcome(name="present plan", plan=gateway.state.plan)
    gateway.answers["what_if"] = WhatIfAnswer(base=base, scenarios=(none,), table=comparison((base, none)))
    client.get("/orders/SAT-STALL/help")
    text = Page(client.get("/orders/SAT-STALL/help/1").text).text
    assert "No plan came out with it. nobody is there" in text


def test_what_helps_says_how_old_it_is_and_is_asked_anew_by_a_button(client: FlaskClient, gateway: SlowGateway) -> None:
    gateway.let.set()
    client.get("/orders/SAT-STALL/help")
    gateway.now = at("Wed 15:12")
    assert "As of 15:00, 12 min ago." in Page(client.get("/orders/SAT-STALL/help").text).text.replace("\u00a0", " ")
    answer = client.post("/orders/SAT-STALL/help")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/orders/SAT-STALL/help")
    assert "As of 15:12, 0 min ago." in Page(client.get("/orders/SAT-STALL/help").text).text.replace("\u00a0", " ")
    assert len(gateway.questions) == 2
