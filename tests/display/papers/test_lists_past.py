"""Stops of machines, trials, hand-over notes and refused acts as CSV: all that is on record, and for whom it is."""

import csv
import io
from dataclasses import replace
from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from orchestrator.core.draft_book import Approval, DraftBook
from orchestrator.core.events import MachineReturned, MachineStopped
from orchestrator.core.handover_events import ShiftHandedOver, ShiftTakenOver
from orchestrator.core.ids import CrewId, EquipmentId
from orchestrator.core.kitchen_book import LaterStop
from orchestrator.core.models.trial import AmountUsed
from orchestrator.core.quantities import Quantity
from orchestrator.ports.access import RefusedAct, Role, Scope
from tests.browser.full_house import full_house, script
from tests.display.conftest import Clients
from tests.display.page import Page
from tests.display.test_desk_pages import client_of as kitchen_client
from tests.fakes.access import Door
from tests.fakes.kitchen_gateway import KitchenGateway

Row = dict[str, str]


def listed(client: FlaskClient, name: str) -> list[Row]:
    answer = client.get(f"/csv/{name}.csv")
    assert (answer.status_code, answer.mimetype) == (200, "text/csv")
    return list(csv.DictReader(io.StringIO(answer.text)))


def told(row: Row, *columns: str) -> list[str]:
    return [row[column] for column in columns]


def stamp(gateway: KitchenGateway, minutes: int = 0) -> str:
    return f"{gateway.now + timedelta(minutes=minutes):%Y-%m-%dT%H:%M:%SZ}"


@pytest.fixture
def house() -> KitchenGateway:
    return full_house()


def test_every_machine_and_place_is_listed_and_each_stop_with_when_why_and_who(house: KitchenGateway) -> None:
    kitchen = house.state.kitchen
    assert kitchen is not None
    began = stamp(house)
    house.now += timedelta(minutes=30)
    churn, manager = EquipmentId("churn"), CrewId("manager")
    later = house.now + timedelta(hours=4)
    house.happen(
        MachineStopped(equipment=churn, at=house.now, until=later, reason="still slips", person=manager),
        MachineReturned(equipment=churn, at=house.now, person=CrewId("early-cook")),
        MachineStopped(equipment=EquipmentId("fridge"), at=house.now, until=None, reason="power cut", person=None),
    )
    rows = listed(kitchen_client(house), "machines")
    assert list(dict.fromkeys(row["machine"] for row in rows)) == [machine.id for machine in kitchen.equipment]
    stops = ("stop", "start", "until", "reason", "person", "back_at", "back_by", "recorded_at")
    now = stamp(house)
    assert [told(row, *stops) for row in rows if row["machine"] == "churn"] == [
        ["told anew", began, stamp(house, 90), "belt slips", "manager", "", "", began],
        ["over", now, stamp(house, 240), "still slips", "manager", now, "early-cook", now],
    ]
    (fridge,) = (row for row in rows if row["machine"] == "fridge")
    assert told(fridge, *stops) == ["stands", now, "", "power cut", "", "", "", now]
    band = next(machine.holds for machine in kitchen.equipment if machine.id == "fridge")
    assert band is not None
    assert (fridge["store"], float(fridge["high_celsius"])) == ("yes", band.high)
    assert all(told(row, *stops) == [""] * 8 for row in rows if row["machine"] not in {"churn", "fridge", "oven"})


def test_stop_told_for_later_and_planned_maintenance_are_listed_ahead(house: KitchenGateway) -> None:
    kitchen = house.state.kitchen
    assert kitchen is not None
    start = house.now + timedelta(hours=20)
    oven, cook = EquipmentId("oven"), CrewId("early-cook")
    later = LaterStop(oven, start, start + timedelta(hours=1), "new seal", cook)
    house.state = replace(house.state, by_hand=replace(house.state.by_hand, stops=(later,)))
    rows = listed(kitchen_client(house), "machines")
    ahead = [told(row, "machine", "stop", "start", "until", "reason", "person") for row in rows if row["stop"]]
    planned = [
        [machine.id, "planned", f"{one.start:%Y-%m-%dT%H:%M:%SZ}", f"{one.end:%Y-%m-%dT%H:%M:%SZ}", one.why, ""]
        for machine in kitchen.equipment
        for one in machine.maintenance
    ]
    assert planned
    assert [row for row in ahead if row[1] == "planned"] == planned
    assert [row for row in ahead if row[1] == "later"] == [
        ["oven", "later", stamp(house, 20 * 60), stamp(house, 21 * 60), "new seal", "early-cook"]
    ]


def test_each_thing_of_a_trial_is_listed_as_asked_and_as_used_at_the_size_that_was_made(house: KitchenGateway) -> None:
    draft = script().state.drafts.drafts[1]
    rows = listed(kitchen_client(house), "trials")
    takes = [(step.id, take) for step in draft.recipe.steps for take in step.takes]
    assert [told(row, "step", "ingredient", "component") for row in rows] == [
        [step, take.ingredient or "", take.component or ""] for step, take in takes
    ]
    for row, (_, take) in zip(rows, takes, strict=True):
        half = Quantity(value=take.amount.value / 2, unit=take.amount.unit)
        assert float(row["asked"]) == pytest.approx(half.value)
        assert told(row, "asked", "asked_unit") == told(row, "used", "used_unit")
    head = ("draft", "recipe", "of", "trial", "person", "factor", "brix", "weight_kg", "notes", "became_revision")
    assert told(rows[0], *head) == [
        *("1", "custard-base", "custard-base", "1", "manager", "0.5", "31", "2.4", "rounder than before", "")
    ]


def test_amount_that_was_used_instead_and_what_the_trial_became_are_told(house: KitchenGateway) -> None:
    draft = house.state.drafts.drafts[1]
    (record,) = draft.trials
    step = next(step for step in draft.recipe.steps if step.takes)
    other = AmountUsed(step=step.id, line=0, amount=Quantity(value=0.123, unit=step.takes[0].amount.unit))
    record = replace(record, trial=record.trial.model_copy(update={"used": (other,)}))
    approved = Approval(trial=1, revision=2, at=house.now, by=CrewId("manager"))
    changed = replace(draft, trials=(record,), approvals=(approved,), away=True)
    house.state = replace(house.state, drafts=DraftBook({1: changed}))
    first = listed(kitchen_client(house), "trials")[0]
    assert told(first, "used", "became_revision", "put_away") == ["0.123", "2", "yes"]
    assert float(first["asked"]) != 0.123


def test_every_hand_over_note_is_listed_line_by_line_also_those_no_screen_keeps(house: KitchenGateway) -> None:
    (one,) = house.state.handovers
    house.state = replace(house.state, handovers=())
    house.happen(ShiftTakenOver(handover=one.number, at=house.now, person=CrewId("late-cook")))
    rows = listed(kitchen_client(house), "hand-overs")
    assert {row["handover"] for row in rows} == {str(one.number)}
    assert told(rows[0], "handed_over_by", "taken_over_by", "taken_over_at", "part", "says") == [
        *("early-cook", "late-cook", stamp(house), "note", "The churn's belt slips; a new one comes at four.")
    ]
    note = one.note
    parts = {
        "done": note.done, "left out": note.left_out, "in hand": note.in_hand, "held": note.held,
        "stopped": note.stopped, "deviation": note.deviations, "coming": note.coming, "alarm": note.alarms,
    }  # fmt: skip
    counted = {part: len(lines) for part, lines in parts.items() if lines}
    assert len(counted) > 4
    assert {part: sum(row["part"] == part for row in rows) for part in counted} == counted
    assert len(rows) == 1 + sum(counted.values())
    hand = [told(row, "what", "thing", "where", "who") for row in rows if row["part"] == "in hand"]
    assert hand == [[line.what, line.thing, line.where, "; ".join(line.who)] for line in note.in_hand]


def test_alarms_of_a_hand_over_note_are_told_in_words_as_they_stood_then(house: KitchenGateway) -> None:
    (one,) = house.state.handovers
    facts = tuple(alarm.facts for alarm in house.state.alarms.values())
    note = one.note.model_copy(update={"alarms": facts})
    house.happen(ShiftHandedOver(at=house.now, person=CrewId("late-cook"), note=note))
    rows = [row for row in listed(kitchen_client(house), "hand-overs") if row["part"] == "alarm"]
    rows = [row for row in rows if row["handed_over_by"] == "late-cook"]
    assert [row["what"] for row in rows] == [str(each.kind) for each in facts]
    warm = [told(row, "where", "thing") for row in rows if row["says"] == "Holding freezer warming: \u22129.0\u00a0°C"]
    assert warm == [["freezer", ""]]


def test_refused_acts_are_for_the_manager_alone_and_all_of_them(client_of: Clients, door: Door) -> None:
    for number in range(230):  # the page shows the latest 200
        door.seconds = number
        door.store.note(RefusedAct(door.now(), "192.0.2.7", "=Stove", f"POST /acts/{number}", "role", number + 1))
    for role in (Role.VIEWER, Role.STATION):
        assert client_of(screen=door.paired(role)).get("/csv/refused-acts.csv").location.startswith("/sign-in")
    manager = client_of(manager=door.signed_in())
    rows = listed(manager, "refused-acts")
    assert len(rows) == 230
    assert told(rows[0], "at", "source", "who", "what", "why", "times") == [
        *("2026-11-26T05:03:49Z", "192.0.2.7", "'=Stove", "POST /acts/229", "role", "230")
    ]
    assert Page(manager.get("/access").text).links["Refused acts as CSV"] == "/csv/refused-acts.csv"


@pytest.mark.parametrize("scope", list(Scope))
def test_program_reads_refused_acts_only_with_a_token_that_may_manage(
    scope: Scope, client_of: Clients, door: Door
) -> None:
    secret = door.store.make_token("Auditor", frozenset({scope}), door.now())
    answer = client_of().get("/csv/refused-acts.csv", headers={"Authorization": f"Bearer {secret}"})
    assert answer.status_code == (200 if scope is Scope.MANAGE else 403)
