"""Late entry: what was written on paper, put on record with both times and called late."""

from datetime import timedelta

import pytest

from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import TaskStarted
from orchestrator.core.late_entry import is_late
from tests.core.script import in_a_planned_kitchen
from tests.display.page import Page
from tests.display.test_desk_pages import client_of
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import planned


def test_entry_from_paper_may_be_days_old_and_keeps_the_time_at_which_it_was_done() -> None:
    script = in_a_planned_kitchen()
    events = script.give("Fri 09:00", "start_task", task="C1.cook", tapped_at=at("Wed 08:02"), from_paper=True)
    assert events[0].at == at("Wed 08:02")


@pytest.mark.parametrize(("paper", "says"), [(False, "more than 12 h old"), (True, "more than 7 days old")])
def test_entry_that_is_too_old_is_refused(paper: bool, says: str) -> None:
    when = at("Wed 08:00") - timedelta(days=7, minutes=1)
    refusal = in_a_planned_kitchen().refused(
        "Wed 08:00", "start_task", task="C1.cook", tapped_at=when, from_paper=paper
    )
    assert refusal.code is RefusalCode.BAD_VALUE
    assert says in refusal.status


def test_entry_is_late_from_a_quarter_of_an_hour_on() -> None:
    assert not is_late(at("Wed 08:00"), at("Wed 08:14"))
    assert is_late(at("Wed 08:00"), at("Wed 08:15"))


def test_page_offers_what_is_due_and_its_entry_is_marked_late_on_the_record() -> None:
    gateway = KitchenGateway(planned(), at("Wed 20:00"))
    client = client_of(gateway, "early-cook")
    page = Page(client.get("/papers/late").text)
    form = next(f for f in page.forms if f.action == "/acts/start" and f.fields["task"] == "C1.cook")
    assert form.fields["tapped_at"] == "2026-11-25T08:00"  # the kitchen's clock, as planned
    answer = client.post("/acts/start", data={**form.fields, "tapped_at": "2026-11-25T08:05"})
    assert answer.status_code == 303
    started = next(r for r in gateway.records if isinstance(r.event, TaskStarted))
    assert (started.event.at, started.at, started.event.person) == (at("Wed 08:05"), at("Wed 20:00"), "early-cook")
    text = Page(client.get("/record/C1").text).text
    assert "late entry, Wed 25 Nov 20:00" in text
    assert "yes" in client.get("/csv/acts.csv?lot=C1").text
    forms = Page(client.get("/papers/late").text).forms
    mine = {f.action for f in forms if f.fields.get("task") == "C1.cook"}
    assert mine == {"/acts/temperature", "/acts/finish"}


def test_page_suggests_no_time_to_come_which_would_be_refused() -> None:
    gateway = KitchenGateway(planned(), at("Wed 08:00"))
    client = client_of(gateway, "early-cook")
    assert client.post("/acts/start", data={"task": "C1.cook"}).status_code == 303
    gateway.now = at("Wed 08:10")
    forms = Page(client.get("/papers/late").text).forms
    form = next(f for f in forms if f.action == "/acts/finish" and f.fields["task"] == "C1.cook")
    assert form.fields["tapped_at"] == "2026-11-25T08:10"


def test_entry_made_within_the_quarter_of_an_hour_is_not_called_late() -> None:
    gateway = KitchenGateway(planned(), at("Wed 08:10"))
    client = client_of(gateway, "early-cook")
    form = {"task": "C1.cook", "from_paper": "yes", "tapped_at": "2026-11-25T08:05"}
    assert client.post("/acts/start", data=form).status_code == 303
    assert "late entry" not in Page(client.get("/record/C1").text).text
