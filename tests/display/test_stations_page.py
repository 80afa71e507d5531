"""All stations on one page: who works there on what, what is due, what comes next, and the way there."""

from datetime import timedelta

from orchestrator.core.ids import CrewId, TaskId
from orchestrator.core.state import TaskStatus
from tests.display.page import Page
from tests.display.test_desk_pages import client_of, example, page_of, text_of, troubled
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.states import begun


def test_each_station_leads_to_its_screen_and_says_what_is_next() -> None:
    state = example()
    assert state.kitchen is not None
    gateway = KitchenGateway(state, state.kitchen.planning_start - timedelta(hours=1))
    page = page_of(gateway, "/stations")
    for station in state.kitchen.stations:
        assert page.links[station.name] == f"/station/{station.id}"
    assert text_of(page).count("Nothing in hand.") == len(state.kitchen.stations)
    assert "Next: " in text_of(page)


def test_work_in_hand_is_shown_with_who_began_it_and_until_when() -> None:
    state = example()
    assert state.plan is not None
    first = min((t for t in state.plan.tasks if t.attended), key=lambda t: t.start)
    at_work = begun(state, first.id, "Thu 12:50", by=CrewId("late-cook"))
    assert at_work.record(TaskId(first.id)).status is TaskStatus.IN_HAND
    told = text_of(page_of(KitchenGateway(at_work, first.start + timedelta(minutes=1)), "/stations"))
    assert f"{first.lot} {first.title} Late cook · until" in told


def test_work_that_is_due_is_shown_with_who_is_planned_for_it() -> None:
    state = example()
    assert state.plan is not None
    first = min((t for t in state.plan.tasks if t.attended), key=lambda t: t.start)
    told = text_of(page_of(KitchenGateway(state, first.start + timedelta(minutes=3)), "/stations"))
    assert f"{first.title} Pastry cook · due since" in told


def test_alarms_that_nobody_has_seen_are_counted_at_their_station() -> None:
    gateway = troubled()
    here = [a for a in gateway.state.alarms.values() if "stove" in a.facts.stations]
    assert here
    told = text_of(page_of(gateway, "/stations"))
    count = f"{len(here)} alarms not seen" if len(here) > 1 else "1 alarm not seen"
    assert count in told


def test_stations_are_told_in_spanish() -> None:
    state = example()
    assert state.kitchen is not None
    client = client_of(KitchenGateway(state, state.kitchen.planning_start - timedelta(hours=1)))
    client.set_cookie("language", "es")
    assert "Nada en marcha." in Page(client.get("/stations").text).text
