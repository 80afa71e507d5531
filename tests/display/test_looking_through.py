"""The batch record says who looked it through, when, with what remark, and whether it has changed since they saw it."""

import csv
import io
from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from orchestrator.core.days_events import DaysMoved
from orchestrator.core.events import Event, TaskExtended, TaskFinished, TaskStarted
from orchestrator.core.ids import CrewId, EquipmentId, LotCode, SupplyLotId
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.models.stock import IngredientUse
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.stock_events import IngredientUsed, LotReworked
from tests.display.page import Page
from tests.display.papers.pdf import words
from tests.display.papers.test_record_pdf import squeeze
from tests.display.test_batch_record import CHURN, COOK, churning, enter
from tests.display.test_desk_pages import client_of, text_of
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at

NONE_YET = "Nobody has said yet that they looked this record through."
SAME = "Nothing was entered since."
CHANGED = "The record has changed since they saw it"


def record_page(client: FlaskClient) -> Page:
    answer = client.get("/record/B1")
    assert answer.status_code == 200
    return Page(answer.text)


def signed(client: FlaskClient, page: Page, note: str = "") -> None:
    (form,) = (form for form in page.forms if form.action == "/acts/look_through")
    answer = client.post("/acts/look_through", data={**form.fields, "note": note})
    assert answer.location == f"/record/B1?seen={form.fields['upto']}"  # another address: a script loads it anew


def last_look(client: FlaskClient) -> str:
    text = text_of(record_page(client))
    return text[text.index("Who read this record") : text.index("Looked through by")]


@pytest.fixture
def kitchen() -> KitchenGateway:
    return churning()


@pytest.fixture
def manager(kitchen: KitchenGateway) -> FlaskClient:
    return client_of(kitchen, "manager")


def test_manager_signs_and_the_record_says_who_when_and_what_they_remarked(
    kitchen: KitchenGateway, manager: FlaskClient
) -> None:
    page = record_page(manager)
    assert NONE_YET in text_of(page)
    signed(manager, page, "the weight was asked for again")
    told = last_look(manager)
    assert f"Wed 25 Nov 15:00 Manager: the weight was asked for again · {SAME}" in told
    assert NONE_YET not in told
    assert "Record looked through: the weight was asked for again" in text_of(record_page(manager))


def test_what_is_entered_after_it_was_seen_is_said_also_what_came_before_the_signature(
    kitchen: KitchenGateway, manager: FlaskClient
) -> None:
    page = record_page(manager)
    enter(kitchen, TaskExtended(task=CHURN, at=at("Wed 15:02"), minutes=5, person=COOK), "Wed 15:02")
    signed(manager, page)
    assert f"{CHANGED}, last on Wed 25 Nov 15:02." in last_look(manager)
    signed(manager, record_page(manager))
    told = last_look(manager)
    assert told.count(SAME) == 1
    assert told.count(CHANGED) == 1
    assert told.index(SAME) < told.index(CHANGED)
    enter(kitchen, LotHeld(lot=LotCode("B1"), at=at("Wed 15:10"), reason="smells"), "Wed 15:10")
    assert last_look(manager).count(f"{CHANGED}, last on Wed 25 Nov 15:10.") == 2


@pytest.mark.parametrize(
    "event",
    [
        IngredientUsed(
            task=CHURN,
            at=at("Wed 15:10"),
            person=COOK,
            ingredients=("milk",),
            uses=(
                IngredientUse(lot=SupplyLotId("D2"), ingredient="milk", quantity=Quantity(value=1, unit=Unit.LITRE)),
            ),
        ),
        LotReworked(
            lot=LotCode("S1"),
            into=LotCode("B1"),
            quantity=Quantity(value=0.5, unit=Unit.LITRE),
            at=at("Wed 15:10"),
            person=COOK,
        ),
    ],
)
def test_another_lot_that_is_said_to_have_gone_in_changes_the_record(
    kitchen: KitchenGateway, manager: FlaskClient, event: Event
) -> None:
    signed(manager, record_page(manager))
    enter(kitchen, event, "Wed 15:10")
    assert f"{CHANGED}, last on Wed 25 Nov 15:10." in last_look(manager)


def test_what_happens_to_another_lot_changes_nothing(kitchen: KitchenGateway, manager: FlaskClient) -> None:
    signed(manager, record_page(manager))
    enter(kitchen, LotHeld(lot=LotCode("S1"), at=at("Wed 15:10"), reason="smells"), "Wed 15:10")
    assert SAME in last_look(manager)


def test_record_of_a_lot_that_has_left_the_plan_is_signed_and_changes_like_any_other(
    kitchen: KitchenGateway, manager: FlaskClient
) -> None:
    start = TaskStarted(task=CHURN, at=at("Wed 14:00"), person=COOK, equipment=EquipmentId("churn"))
    enter(kitchen, start, "Wed 14:00")
    assert kitchen.state.plan is not None
    tasks = tuple(task.id for task in kitchen.state.plan.tasks if task.lot == "B1")
    days = {"planning_start": at("Wed 15:00"), "horizon_days": 5, "lots": (LotCode("B1"),), "tasks": tasks}
    kitchen.happen(DaysMoved.model_validate({"at": kitchen.now, **days}))
    signed(manager, record_page(manager))
    assert SAME in last_look(manager)
    enter(kitchen, LotHeld(lot=LotCode("B1"), at=at("Wed 15:10"), reason="a guest was ill"), "Wed 15:10")
    assert CHANGED in last_look(manager)
    (row,) = (row for row in _rows(manager, "/csv/looked-through.csv") if row["lot"] == "B1")
    assert row["changed_after"] == "yes"


def test_who_worked_on_the_lot_and_signs_is_said_to_have(kitchen: KitchenGateway) -> None:
    boss = CrewId("manager")
    enter(kitchen, TaskFinished(task=CHURN, at=at("Wed 14:20"), person=boss), "Wed 14:20")
    client = client_of(kitchen, "manager")
    signed(client, record_page(client))
    assert "Manager (worked on this lot) · " in last_look(client)


@pytest.mark.parametrize(("who", "says"), [("early-cook", "Manager can sign here"), ("", "say who you are")])
def test_who_may_not_sign_is_offered_no_button_and_told_who_may(kitchen: KitchenGateway, who: str, says: str) -> None:
    page = record_page(client_of(kitchen, who))
    assert [form for form in page.forms if form.action == "/acts/look_through"] == []
    assert says in text_of(page)


def test_pdf_and_both_lists_say_it_too(kitchen: KitchenGateway, manager: FlaskClient) -> None:
    start = TaskStarted(task=CHURN, at=at("Wed 14:00"), person=COOK, equipment=EquipmentId("churn"))
    enter(kitchen, start, "Wed 14:00")
    before = {row["lot"]: row for row in _rows(manager, "/csv/looked-through.csv")}
    assert (before["B1"]["looked_through_at"], before["B1"]["changed_after"]) == ("", "")
    signed(manager, record_page(manager), "=late weights")
    enter(kitchen, TaskExtended(task=CHURN, at=at("Wed 15:02"), minutes=5, person=COOK), "Wed 15:02")
    pdf = squeeze(words(manager.get("/record/B1/record.pdf").data))
    for said in ("Manager: =late weights", f"{CHANGED}, last on Wed 25 Nov 15:02."):
        assert squeeze(said) in pdf
    assert squeeze("can sign here") not in pdf
    (act,) = (row for row in _rows(manager, "/csv/acts.csv?lot=B1") if row["act"] == "record_looked_through")
    assert (act["person"], act["done_at"], act["reason"]) == ("manager", "2026-11-25T15:00:00Z", "'=late weights")
    (look,) = (row for row in _rows(manager, "/csv/looked-through.csv") if row["lot"] == "B1")
    assert look == {
        "lot": "B1",
        "last_entry_at": "2026-11-25T15:02:00Z",
        "looked_through_at": "2026-11-25T15:00:00Z",
        "person": "manager",
        "remark": "'=late weights",
        "changed_after": "yes",
        "recorded_at": "2026-11-25T15:00:00Z",
        "unseen_since": "2026-11-25T15:00:00Z",  # `enter` tells the log another time than the state
        "look_through_by": "2026-12-04",
        "working_days_waited": "0",
        "working_days_left": "7",
    }


WAITS = "Record not looked through: 7 working days left, to Fri 4 Dec"
BRIEF = "look record through by Fri 4 Dec"
LATE = "Record not looked through: was to be by Fri 4 Dec"


def churn(kitchen: KitchenGateway) -> None:
    """Begun again on record: what the fake state brings along has no events."""
    kitchen.now = at("Wed 14:00")
    kitchen.happen(TaskStarted(task=CHURN, at=at("Wed 14:00"), person=COOK, equipment=EquipmentId("churn")))
    kitchen.now = at("Wed 15:00")


def test_lots_page_marks_records_that_nobody_has_looked_through_by_word_and_shape_and_shows_only_those(
    kitchen: KitchenGateway, manager: FlaskClient
) -> None:
    assert "Records to look through" not in text_of(Page(manager.get("/lots").text))
    churn(kitchen)
    html = manager.get("/lots").text
    (row,) = (row for row in html.split("<tr>") if 'href="/record/B1"' in row)
    assert "mark-heed" in row
    assert BRIEF in row.replace("\u00a0", " ")
    page = Page(html)
    assert page.text.count(BRIEF) == 1
    assert "/lots?records=unseen" in page.links.values()
    only = manager.get("/lots?records=unseen").text
    assert text_of(Page(only)).count(WAITS) == 1
    assert 'href="/record/B1#through"' in only
    assert 'href="/record/C1' not in only
    signed(manager, record_page(manager))
    assert BRIEF not in text_of(Page(manager.get("/lots").text))
    assert "Every record has been looked through." in text_of(Page(manager.get("/lots?records=unseen").text))


def test_record_says_how_many_working_days_are_left_and_the_board_once_none_is(
    kitchen: KitchenGateway, manager: FlaskClient
) -> None:
    churn(kitchen)
    told = last_look(manager)
    assert f"{WAITS}. First entry that nobody has seen: Wed 25 Nov 14:00." in told
    assert "within 7 working days, Monday to Friday: a setting of this kitchen, your local code decides" in told
    kitchen.now = at("Wed 15:00") + timedelta(days=9)  # Fri 4 Dec
    assert "today is the last day. First entry that nobody has seen: Wed 25 Nov 14:00, 7 working days ago." in (
        last_look(manager)
    )
    assert "not looked through in time" not in text_of(Page(manager.get("/board").text))
    kitchen.now += timedelta(days=1)
    assert f"{LATE}." in last_look(manager)
    board = Page(manager.get("/board").text)
    assert "Records not looked through in time: 1" in text_of(board)
    assert board.links["Records not looked through in time: 1"] == "/lots?records=unseen"
    assert "Records to look through (1, 1 late)" in text_of(Page(manager.get("/lots").text))
    assert "mark-missed" in manager.get("/lots?records=unseen").text
    (lot,) = (row for row in _rows(manager, "/csv/lots.csv") if row["lot"] == "B1")
    told_in_file = (lot["unseen_since"], lot["look_through_by"], lot["working_days_waited"], lot["working_days_left"])
    assert told_in_file == ("2026-11-25T14:00:00Z", "2026-12-04", "7", "0")
    signed(manager, record_page(manager))
    assert "not looked through in time" not in text_of(Page(manager.get("/board").text))


def test_it_is_told_in_spanish(kitchen: KitchenGateway, manager: FlaskClient) -> None:
    manager.set_cookie("language", "es")
    remark = "The weight of the cook was asked for again"
    signed(manager, record_page(manager), remark)
    text = text_of(record_page(manager))
    assert text.count(remark) == 2, "words of a person stay as they are"
    assert "Revisión de este registro" in text
    assert f"mié 25 nov 15:00 Manager: {remark} · Después no se ha anotado nada." in text


def test_no_word_of_it_sounds_like_clearance(manager: FlaskClient) -> None:
    signed(manager, record_page(manager))
    told = last_look(manager).lower()
    for word in ("approved", "verified", "complies", "compliant", "cleared", "safe", "passed"):
        assert word not in told


def _rows(client: FlaskClient, path: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(client.get(path).text)))
