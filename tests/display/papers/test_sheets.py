"""Sheets, lists, feeds: page, PDF and CSV say the same; CSV is safe to open; another parser reads the calendars."""

import csv
import io
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
import vobject
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from display.papers.csv_cells import csv_text
from orchestrator.core.events import PlanAdopted
from orchestrator.core.ids import LotCode
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.models import TaskKind
from tests.core.test_buying import example
from tests.display.page import Page
from tests.display.papers.pdf import words
from tests.display.papers.test_record_pdf import said_on, squeeze
from tests.display.test_desk_pages import client_of
from tests.fakes.kitchen_gateway import FakePractice, KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import begun, planned

DAY = "day?day=2026-11-26"
SHEETS = ("order", "pull", DAY, f"{DAY}&station=stove", f"{DAY}&person=late-cook", "weigh/C1")


def gateway() -> KitchenGateway:
    state = example()
    assert state.kitchen is not None
    return KitchenGateway(
        replace(state, adopted_at=state.kitchen.planning_start), state.kitchen.planning_start + timedelta(hours=2)
    )


def client() -> FlaskClient:
    return client_of(gateway())


def file_of(path: str, kind: str) -> str:
    name, _, query = path.partition("?")
    return f"/papers/{name}.{kind}" + (f"?{query}" if query else "")


@pytest.mark.parametrize("path", SHEETS)
def test_sheet_as_pdf_says_every_word_of_its_page(path: str) -> None:
    here = client()
    html = here.get(f"/papers/{path}").text
    answer = here.get(file_of(path, "pdf"))
    assert answer.status_code == 200
    told = squeeze(words(answer.data))
    said = said_on(html)
    assert len(said) > 10
    assert [piece for piece in said if piece not in told] == []


def test_amount_on_paper_is_not_broken_within_its_unit() -> None:
    here = client()
    here.set_cookie("language", "es")
    page = Page(here.get("/papers/pull?day=2026-11-27").text)
    amounts = set(re.findall(r"[0-9]+ piezas", " ".join(page.text.split())))
    assert amounts
    told = words(here.get("/papers/pull.pdf?day=2026-11-27").data)
    assert {amount for amount in amounts if amount not in told} == set()


@pytest.mark.parametrize("path", SHEETS)
def test_sheet_as_csv_has_its_rows(path: str) -> None:
    answer = client().get(file_of(path, "csv"))
    rows = list(csv.reader(io.StringIO(answer.text)))
    assert answer.mimetype == "text/csv"
    assert len(rows) > 3
    assert {len(row) for row in rows} == {len(rows[0])}


@pytest.mark.parametrize(
    "path",
    ["/papers/nothing", "/papers/weigh", "/papers/weigh/X9", "/papers/order/C1", "/papers/day?day=soon",
     "/papers/day?station=moon", "/csv/all.csv", "/csv/readings.csv", "/csv/orders.csv?lot=C1", "/csv/acts.csv?lot=X9",
     "/calendar/nobody.ics"],
)  # fmt: skip
def test_sheet_that_is_not_there_is_said_to_be_so(path: str) -> None:
    assert client().get(path).status_code == 404


def test_papers_page_leads_to_every_sheet_list_and_calendar() -> None:
    here = client()
    links = Page(here.get("/papers").text).links.values()
    ours = {link for link in links if link.startswith(("/papers/", "/csv/", "/calendar/"))}
    assert len(ours) > 25
    assert {link: here.get(link).status_code for link in ours} == dict.fromkeys(ours, 200)


@pytest.mark.parametrize(
    "path",
    ["/csv/lots.csv", "/csv/acts.csv?lot=C1", "/papers/order.csv", "/papers/order.pdf", "/record/C1/record.pdf",
     "/trace/H1.csv", "/alarms/figures.csv", "/mix.csv"],
)  # fmt: skip
def test_file_of_a_demo_is_named_practice_and_a_kitchens_is_not(path: str) -> None:
    kitchen = gateway()
    named = [client_of(kitchen).get(path).headers["Content-Disposition"]]
    kitchen._practice = FakePractice()
    named.append(client_of(kitchen).get(path).headers["Content-Disposition"])
    assert [name.startswith('attachment; filename="PRACTICE-') for name in named] == [False, True]


def test_every_count_has_its_unit_and_no_bracket_stands_in_another() -> None:
    here = client()
    days = [f"day?day=2026-11-{day}" for day in range(25, 30)]
    pages = [Page(here.get(f"/papers/{path}").text.replace("<t", " <t")).text for path in (*SHEETS, *days)]
    told = "\n".join(pages).replace("\u00a0", " ")
    assert len(re.findall(r"Grapefruit \d[\d.]* pieces?", told)) >= 1
    assert re.findall(r"Grapefruit \d[\d.]*(?! piece|[\d.])", told) == []
    assert "contains hazelnut (tree nut)" in told.lower()
    assert re.findall(r"\([^()]*\([^)]*\)", told) == []


@given(st.lists(st.text(max_size=30), min_size=1, max_size=5))
def test_no_cell_of_a_csv_begins_a_formula(cells: list[str]) -> None:
    """OWASP, CSV Injection: spreadsheets run a cell that begins with = + - @ tab or return, unless it is a number."""
    (row,) = list(csv.reader(io.StringIO(csv_text([f"c{n}" for n in range(len(cells))], [cells]), newline="")))[1:]
    for cell, told in zip(cells, row, strict=True):
        if told[:1] in {"=", "+", "-", "@", "\t", "\r", "\n"}:
            float(told)
        assert told in (cell, f"'{cell}")


def test_negative_numbers_stay_numbers_and_formulas_become_text() -> None:
    text = csv_text(["a", "b", "c"], [[-18.2, "=1+1", "@SUM(A1)"], ["-18.2", "-cmd|' /C calc'!A0", None]])
    assert text == "a,b,c\r\n-18.2,'=1+1,'@SUM(A1)\r\n-18.2,'-cmd|' /C calc'!A0,\r\n"


def test_lists_tell_what_the_state_holds() -> None:
    state = example()
    assert state.plan is not None
    assert state.kitchen is not None
    here = client()

    def rows(name: str) -> list[dict[str, str]]:
        return list(csv.DictReader(io.StringIO(here.get(f"/csv/{name}.csv").text)))

    assert {row["task"] for row in rows("tasks")} == {task.id for task in state.plan.tasks}
    assert {row["lot"] for row in rows("lots")} >= {batch.lot for batch in state.plan.batches}
    assert [row["order"] for row in rows("orders")] == [o.id for o in state.kitchen.orders for _ in o.lines]
    assert [(row["lot"], row["quantity"], row["unit"]) for row in rows("stock")] == [("H1", "2", "L")]
    shifts = [(m.id, s.start) for m in state.kitchen.crew for s in m.shifts]
    assert [(row["person"], datetime.fromisoformat(row["shift_start"])) for row in rows("crew")] == shifts
    breaks = [
        at for row in rows("crew") for pause in filter(None, row["breaks"].split("; ")) for at in pause.split("/")
    ]
    assert breaks
    assert all(at.endswith("Z") for at in breaks)  # as every other instant
    takes = [(r.id, s.id, t.ingredient or "") for r in state.kitchen.recipes for s in r.steps for t in s.takes]
    taken = [(row["recipe"], row["step"], row["ingredient"]) for row in rows("recipes") if row["quantity"]]
    assert taken == takes
    assert rows("deliveries") == []
    levels = [(row["product"], float(row["quantity"])) for row in rows("par-levels")]
    assert levels == [(level.product, level.quantity.value) for level in state.kitchen.par_levels]
    assert levels
    assert [row["probe"] for row in rows("probes")] == [probe.id for probe in state.kitchen.probes]
    written = {(r.id, s.id): s.duration.usual for r in state.kitchen.recipes for s in r.steps if s.duration is not None}
    told = {
        (row["recipe"], row["step"]): int(row["written_usual_min"])
        for row in rows("durations")
        if row["per_tray"] != "yes"
    }
    assert told.items() <= written.items()
    assert len(told) > 20
    assert (rows("calls"), rows("drills")) == ([], [])
    starts = {row["task"]: row["planned_start"] for row in rows("tasks")}
    for task in state.plan.tasks:
        assert datetime.fromisoformat(starts[task.id]) == task.start


def test_deviations_and_alarms_are_listed_with_the_words_of_people_kept_harmless() -> None:
    kitchen = gateway()
    kitchen.happen(LotHeld(lot=LotCode("C1"), at=kitchen.now, reason='=HYPERLINK("x")'))
    text = client_of(kitchen).get("/csv/lots.csv").text
    assert "'=HYPERLINK" in text
    for name in ("deviations", "alarms"):
        assert client_of(kitchen).get(f"/csv/{name}.csv").status_code == 200


def test_readings_of_a_batch_are_those_of_the_places_where_its_steps_were_done() -> None:
    kitchen = KitchenGateway(begun(planned(), "C1.cook", "Wed 08:00"), at("Wed 08:30"))
    rows = list(csv.DictReader(io.StringIO(client_of(kitchen).get("/csv/readings.csv?lot=C1").text)))
    told = {(row["lot"], row["step"], row["equipment"], row["probe"]) for row in rows}
    assert told == {("C1", "Cook the custard base", "Hob 1", "hob-1-core")}
    # The fake has one every ten minutes up to the present.
    assert [datetime.fromisoformat(row["measured_at"]) for row in rows] == [
        at(f"Wed 08:{minute}0") for minute in range(4)
    ]


def feed(kitchen: KitchenGateway, whose: str) -> bytes:
    answer = client_of(kitchen).get(f"/calendar/{whose}.ics")
    assert answer.mimetype == "text/calendar"
    return answer.data


@pytest.mark.parametrize("whose", ["late-cook", "early-cook", "stove", "counter"])
def test_feed_is_read_by_another_parser_with_the_plan_s_times(whose: str) -> None:
    """vobject 0.9.9 reads what icalendar 7.3 wrote; RFC 5545, 3.1: lines of at most 75 octets, ended by CRLF."""
    state = example()
    assert state.plan is not None
    text = feed(gateway(), whose)
    lines = text.split(b"\r\n")
    assert lines[-1] == b""
    assert b"\n" not in text.replace(b"\r\n", b"")
    assert max(map(len, lines)) <= 75
    calendar = vobject.readOne(text.decode())
    wanted = []
    for task in state.plan.tasks:
        if task.kind is TaskKind.STAY:
            continue
        if whose in {str(one.id) for one in state.kitchen.stations}:  # type: ignore[union-attr]
            wanted += [(task.start, task.end)] if task.station == whose else []
        else:
            wanted += [(span.start, span.end) for span in task.spans if whose in span.crew]
    read = [tuple(at.value.astimezone(UTC) for at in (e.dtstart, e.dtend)) for e in calendar.vevent_list]
    assert sorted(read) == sorted(wanted)
    assert text.count(b"DTSTART;TZID=Europe/London:") == len(wanted)
    assert calendar.vtimezone.tzid.value == "Europe/London"
    assert all({"uid", "dtstamp", "sequence", "summary"} <= set(e.contents) for e in calendar.vevent_list)


def test_uids_are_stable_and_the_sequence_grows_with_the_plan() -> None:
    """RFC 5545, 3.8.4.7 and 3.8.7.4."""
    kitchen = gateway()
    first = vobject.readOne(feed(kitchen, "late-cook").decode())
    assert feed(kitchen, "late-cook") == feed(kitchen, "late-cook")
    plan = kitchen.state.plan
    assert plan is not None
    kitchen.happen(PlanAdopted(plan=plan, at=kitchen.now, person=None))
    then = vobject.readOne(feed(kitchen, "late-cook").decode())
    uids = [[e.uid.value for e in one.vevent_list] for one in (first, then)]
    assert uids[0] == uids[1]
    assert len(set(uids[0])) == len(uids[0])
    assert {int(e.sequence.value) for e in first.vevent_list} == {1}
    assert {int(e.sequence.value) for e in then.vevent_list} == {2}
    assert {e.dtstamp.value for e in then.vevent_list} == {kitchen.now}
