"""Board, probes, alarms, lots, orders, machines, records and the way in, as rendered from real state."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from functools import cache
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from display import panels
from display.alarm_log import AlarmLog
from display.app import create_app
from display.panels import Showing
from display.reader import Reader
from display.views import CoreViews
from orchestrator.core.alarms import alarm_events
from orchestrator.core.commands import AcknowledgeAlarm, ReportProblem
from orchestrator.core.events import PlanProposed, Recorded
from orchestrator.core.ids import CommandId, CrewId, EquipmentId, LotCode, ProbeId, TaskId
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.models import Move, PlanRequest, ProbeFact
from orchestrator.core.state import MachineStop, State
from orchestrator.kitchen.read import read_kitchen
from orchestrator.planner.plan import make_plan
from tests.display.page import Page
from tests.fakes.kitchen_gateway import FakePractice, KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing, begun

CONFIG = Path(__file__).parents[2] / "config"
PATHS = ("/", "/stations", "/board", "/board?day=2026-11-26", "/probes", "/alarms", "/lots", "/orders", "/machines")


def client_of(gateway: KitchenGateway, person: str = "") -> FlaskClient:
    client = create_app(gateway, CoreViews()).web.test_client()
    if person:
        client.set_cookie("person", person)
    return client


def quiet() -> KitchenGateway:
    return KitchenGateway(base_ageing(), at("Wed 15:00"))


def troubled() -> KitchenGateway:
    """S1 on hold, the churn stopped, the freezer silent and warm, and the alarms that follow."""
    silent = ProbeFact(
        probe=ProbeId("freezer-air"),
        equipment=EquipmentId("freezer"),
        celsius=-12.4,
        measured_at=at("Thu 09:10"),
        silent_since=at("Thu 09:20"),
        outside_since=at("Thu 08:30"),
        worst_c=-12.0,
    )
    state = begun(base_ageing(), "B1.churn", "Thu 09:00")
    stop = MachineStop(since=at("Thu 09:05"), until=at("Thu 11:05"), reason="belt slips", by=None)
    state = replace(state, machines={EquipmentId("churn"): stop})
    gateway = KitchenGateway(state, at("Thu 09:42"), facts={silent.probe: silent})
    gateway.happen(LotHeld(lot=LotCode("S1"), at=at("Thu 09:00"), reason="chilled too slowly"))
    gateway.happen(*alarm_events(gateway.state, gateway.facts, gateway.now))
    return gateway


def page_of(gateway: KitchenGateway, path: str, person: str = "") -> Page:
    answer = client_of(gateway, person).get(path)
    assert answer.status_code == 200, path
    return Page(answer.text)


def text_of(page: Page) -> str:
    return page.text.replace("\u00a0", " ")


@cache
def example() -> State:
    kitchen = read_kitchen(CONFIG)
    answer = make_plan(PlanRequest(kitchen=kitchen, now=kitchen.planning_start), effort="repair", seconds=1)
    assert answer.plan is not None
    return State(seq=2, kitchen=kitchen, plan=answer.plan, revision=1, adopted_at=kitchen.planning_start)


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("kind", ["quiet", "troubled", "example"])
def test_pages_are_well_formed_without_inline_style_or_script(kind: str, path: str) -> None:
    if kind == "example":
        state = example()
        assert state.plan is not None
        gateway = KitchenGateway(state, state.plan.start + timedelta(hours=30), practice=FakePractice())
    else:
        gateway = quiet() if kind == "quiet" else troubled()
    page = page_of(gateway, path)
    assert (page.inline_styles, page.inline_scripts) == ([], [])
    assert len(page.ids) == len(set(page.ids))
    assert "licensed" in page.text or path == "/machines"
    assert ("PRACTICE" in page.text) is (kind == "example")


@pytest.mark.parametrize("path", PATHS)
def test_pages_before_any_kitchen_say_what_to_do(path: str) -> None:
    answer = client_of(KitchenGateway(State(), at("Wed 06:00"))).get(path)
    assert answer.status_code == 503
    assert "kitchen folder" in answer.text


def test_board_shows_blocks_lids_orders_and_links_to_tasks() -> None:
    answer = client_of(quiet()).get("/board").text
    page, text = Page(answer), text_of(Page(answer))
    assert 'href="/task/C1.age.B1"' in answer
    for words in ("Wed 25 Nov", "15:00", "On time · 10 min spare", "Sat 11:00", "of 24 L"):
        assert words in text, words
    assert page.links["Wed 25 Nov"] == "/board?day=2026-11-25"


def test_board_of_a_day_that_cannot_be_read_is_not_there() -> None:
    assert client_of(quiet()).get("/board?day=yesterday").status_code == 404
    assert client_of(quiet()).get("/board?day=2026-11-27").status_code == 200


def test_board_shows_a_stop_a_hold_and_alarms_that_can_be_marked() -> None:
    page = page_of(troubled(), "/board")
    text = text_of(page)
    for words in ("Stopped 09:05", "on hold", "Mark as seen"):
        assert words in text, words
    assert page.form("/acts/seen").fields["alarm"] in troubled().state.alarms


def proposed() -> KitchenGateway:
    gateway = KitchenGateway(base_ageing(), at("Thu 07:00"))
    plan = gateway.state.plan
    assert plan is not None
    move = Move(
        task=TaskId("B1.churn"),
        title="Churn the basil custard",
        before=at("Thu 09:00"),
        after=at("Thu 10:00"),
        what="later",
        reason="the churn comes back at 09:50",
    )
    gateway.happen(
        PlanProposed(
            plan=plan, at=gateway.now, moves=(move,), waits_for=("makes Stall late",), decide_by=at("Thu 07:45")
        )
    )
    return gateway


def test_board_shows_the_plan_that_waits_its_moves_with_reasons_and_until_when() -> None:
    page = page_of(proposed(), "/board")
    text = text_of(page)
    for words in (
        "A new plan waits: makes Stall late",
        "decide by 07:45",
        "B1 Churn the basil custard: 09:00 → 10:00, later",
        "the churn comes back at 09:50",
    ):
        assert words in text, words
    fields = [form.fields["adopt"] for form in page.forms if form.action == "/acts/plan"]
    assert fields == ["yes", "no"]


@pytest.mark.parametrize(("adopt", "revisions"), [("yes", 2), ("no", 1)])
def test_plan_that_waits_is_adopted_or_declined_by_its_form(adopt: str, revisions: int) -> None:
    gateway = proposed()
    waits = gateway.state.proposal
    assert waits is not None
    client = client_of(gateway, "manager")
    answer = client.post("/acts/plan", data={"proposal": waits.seq, "adopt": adopt, "back": "/board"})
    assert answer.status_code == 303, answer.text
    assert (gateway.state.proposal, gateway.state.revision) == (None, revisions)


def test_probes_page_says_silence_in_words_and_never_shows_the_old_value_as_present() -> None:
    gateway = troubled()
    gateway.rejected, gateway.rejected_last = {"future": 3}, {"future": "fridge-air 2030-01-01 4.0"}
    answer = client_of(gateway).get("/probes").text
    assert '<th scope="row">future</th><td data-head="Count">3</td>' in answer
    text = text_of(Page(answer))
    for words in (
        "Silent since 09:20 (22 min)",
        "No reading",
        "−12.4 °C at 09:10",
        "fridge-air 2030-01-01 4.0",
        "mosquitto_pub -h 127.0.0.1 -p 1883 -t coldwright/v1/probes/",
    ):
        assert words in text, words


def test_probes_page_shows_value_age_band_and_curve() -> None:
    gateway = quiet()
    fact = ProbeFact(
        probe=ProbeId("fridge-air"),
        equipment=EquipmentId("fridge"),
        celsius=2.8,
        measured_at=at("Wed 14:57"),
        slope_c_per_min=-0.2,
    )
    gateway.facts = {fact.probe: fact}
    answer = client_of(gateway).get("/probes").text
    text = text_of(Page(answer))
    for words in ("2.8 °C", "3 min ago · falling 0.2° a minute", "5.0 °C", "3.0 °C"):
        assert words in text, words
    assert "polyline" in answer


def test_alarms_page_has_every_alarm_with_facts_and_state_in_words() -> None:
    gateway = troubled()
    page = page_of(gateway, "/alarms")
    marked = [form.fields["alarm"] for form in page.forms if form.action == "/acts/seen"]
    assert sorted(marked) == sorted(gateway.state.alarms)
    text = text_of(page)
    for words in ("On hold:", "Machine stopped", "Not seen", "What helps:", "Raised:"):
        assert words in text, words


def test_alarm_marked_as_seen_names_who() -> None:
    gateway = troubled()
    alarm = next(iter(gateway.state.alarms))
    client = client_of(gateway, "early-cook")
    assert client.post("/acts/seen", data={"alarm": alarm, "back": "/alarms"}).status_code == 303
    text = text_of(Page(client.get("/alarms").text))
    assert "seen 09:42 by Early cook" in text
    assert "Seen · " in text


def test_alarm_log_reads_only_what_is_new_and_keeps_the_order() -> None:
    gateway, asked = troubled(), []
    read = gateway.history

    def counting(after: int = 0, limit: int = 200) -> Sequence[Recorded]:
        asked.append(after)
        return read(after, limit)

    gateway.history = counting  # type: ignore[method-assign]
    log = AlarmLog()
    first = log.records(gateway, gateway.state.seq)
    assert [r.event.kind for r in first] == ["alarm_raised"] * len(gateway.state.alarms)
    assert log.records(gateway, gateway.state.seq) == first
    alarm = next(iter(gateway.state.alarms))
    assert gateway.submit(AcknowledgeAlarm(command_id=CommandId("a"), person=CrewId("manager"), alarm=alarm))
    again = log.records(gateway, gateway.state.seq)
    assert [r.event.kind for r in again[len(first) :]] == ["alarm_acknowledged"]
    assert asked == sorted(set(asked))


def test_alarm_without_a_person_is_refused_with_a_way_to_say_who() -> None:
    gateway = troubled()
    alarm = next(iter(gateway.state.alarms))
    answer = client_of(gateway).post("/acts/seen", data={"alarm": alarm}, headers={"Accept": "application/json"})
    assert answer.status_code == 409
    assert answer.json["outcome"] == "refused"
    assert answer.json["remedy"]
    assert answer.json["more"].startswith("/person")


def test_lot_on_hold_is_decided_by_a_person_with_a_reason() -> None:
    gateway = troubled()
    client = client_of(gateway, "manager")
    page = Page(client.get("/lots").text)
    assert "Held: chilled too slowly" in text_of(page)
    fields = page.form("/acts/lot").fields
    assert fields["lot"] == "S1"
    sent = {**fields, "decision": "discard", "reason": "above 5 °C for too long"}
    assert client.post("/acts/lot", data=sent).status_code == 303
    after = Page(client.get("/lots").text)
    assert "discarded" in text_of(after)
    assert [form for form in after.forms if form.action == "/acts/lot"] == []


@pytest.mark.parametrize(
    ("act", "sent", "named", "remedy"),
    [
        ("lot", {"lot": "S1", "decision": "eat", "reason": "x"}, "Decision: 'eat'", "One of: release, rework, discard"),
        ("lot", {"lot": "S1", "decision": "release", "reason": " "}, "Reason is missing", "Fill it in"),
        ("stop", {"equipment": "churn", "until": "later"}, "Until: 'later'", "2026-11-28T09:30"),
        ("plan", {"proposal": "x", "adopt": "yes"}, "Plan: 'x'", "Write digits"),
    ],
)
def test_forms_refuse_bad_input_with_place_and_remedy(act: str, sent: dict[str, str], named: str, remedy: str) -> None:
    gateway = troubled()
    before = gateway.state
    client = client_of(gateway, "manager")
    answer = client.post(f"/acts/{act}", data=sent, headers={"Accept": "application/json"})
    assert answer.status_code == 400
    assert named in answer.json["says"]
    assert remedy in answer.json["remedy"]
    assert gateway.state is before


def test_machine_is_stopped_until_the_kitchens_own_time_and_comes_back() -> None:
    gateway = quiet()
    client = client_of(gateway, "early-cook")
    sent = {"equipment": "churn", "until": "2026-11-25T17:30", "reason": "belt", "back": "/machines"}
    assert client.post("/acts/stop", data=sent).status_code == 303
    assert gateway.state.machines[EquipmentId("churn")].until == at("Wed 17:30")
    page = Page(client.get("/machines").text)
    assert "stopped since 15:00, until 17:30" in text_of(page)
    assert client.post("/acts/machine_back", data=page.form("/acts/machine_back").fields).status_code == 303
    assert gateway.state.machines == {}


def test_orders_page_has_outlook_and_lots() -> None:
    page = page_of(quiet(), "/orders")
    assert "On time · 10 min spare" in text_of(page)
    assert page.links["B1"] == "/record/B1"


def test_record_tells_who_did_what_when_and_what_went_wrong() -> None:
    gateway = KitchenGateway(begun(base_ageing(), "B1.churn", "Wed 14:00"), at("Wed 15:00"))
    problem = ReportProblem.model_validate(
        {"command_id": CommandId("p"), "person": "early-cook", "task": "B1.churn", "what": "quality", "text": "grainy"}
    )
    assert gateway.submit(problem)
    text = text_of(page_of(gateway, "/record/B1"))
    for words in (
        "Batch record B1",
        "Early cook",
        "14:00",
        "Problem: Quality: grainy",
        "Made from C1 5 L",
    ):
        assert words in text, words
    assert "Not a statement that the food is safe" in text


def test_record_of_an_unknown_lot_is_not_there() -> None:
    assert client_of(quiet()).get("/record/X9").status_code == 404


def test_way_in_leads_to_stations_board_and_probes_and_hides_practice_in_a_real_kitchen() -> None:
    page = page_of(quiet(), "/")
    assert {"/station/stove", "/station/counter", "/board", "/probes"} <= set(page.links.values())
    assert "PRACTICE" not in page.text
    answer = client_of(quiet()).post("/practice/jump", data={"back": "/"})
    assert answer.status_code == 404
    assert "coldwright demo" in answer.text


def test_practice_forms_set_clock_crew_and_troubles() -> None:
    practice = FakePractice()
    client = client_of(KitchenGateway(base_ageing(), at("Wed 15:00"), practice=practice))
    page = Page(client.get("/").text)
    assert "PRACTICE" in page.text
    for form in [form for form in page.forms if form.action.startswith("/practice/")]:
        assert client.post(form.action, data=form.fields).status_code == 303, form
    assert practice.rates == [0, 1, 10, 60, 600]
    assert (practice.jumps, practice.on) == (1, False)
    assert practice.planted == ["churn-stops", "probe-silent"]


@pytest.mark.parametrize(
    ("what", "sent"), [("rate", {"rate": "fast"}), ("trouble", {"trouble": "flood"}), ("crew", {"on": "maybe"})]
)
def test_practice_forms_refuse_what_they_do_not_know(what: str, sent: dict[str, str]) -> None:
    practice = FakePractice()
    client = client_of(KitchenGateway(base_ageing(), at("Wed 15:00"), practice=practice))
    assert client.post(f"/practice/{what}", data={**sent, "back": "/"}).status_code == 303
    assert "refused" in client.get("/").text
    assert (practice.rates, practice.planted, practice.on) == ([], [], True)


def test_streamed_panels_of_the_desk_carry_no_command_id() -> None:
    gateway = troubled()
    app = create_app(gateway, CoreViews())
    showing = Showing(gateway, CoreViews(), gateway.snapshot(), Reader(), app.web.jinja_env)
    for key in ("board", "board-needs", "board-list", "probes", "rejected", "alarms", "lots", "orders", "machines"):
        assert "command_id" not in panels.render_panel(showing, key), key


def test_board_before_the_first_plan_shows_the_kitchen_and_says_so() -> None:
    state = replace(base_ageing(), plan=None, tasks={})
    text = text_of(page_of(KitchenGateway(state, at("Wed 06:00")), "/board"))
    assert "Hob 1" in text  # a machine with nothing to do has its row
    assert "Not planned yet" in text


@pytest.mark.parametrize("path", ["/", "/board", "/orders", "/station/stove"])
def test_pages_say_a_day_before_the_last_shift_ends_that_nobody_has_one_after_it(path: str) -> None:
    state = State(kitchen=base_ageing().kitchen)
    assert state.kitchen is not None
    last = max(shift.end for member in state.kitchen.crew for shift in member.shifts)
    before = KitchenGateway(state, last - timedelta(days=1, minutes=1))
    assert "Nobody has a shift after" not in client_of(before).get(path).text
    text = client_of(KitchenGateway(state, last - timedelta(days=1))).get(path).text
    assert "Nobody has a shift after" in text
    assert 'href="/crew"' in text
