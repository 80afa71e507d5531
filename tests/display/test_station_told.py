"""What a station is told of people: who was quicker, notes to read, one's own shift that ends."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from display.app import create_app
from display.station_told import note_to_read, shift_that_ends
from orchestrator.core.models.handover import Handover, HandoverNote
from orchestrator.core.models.kitchen import Shift
from orchestrator.core.state import State
from orchestrator.core.views.models import StationView
from tests.fakes import canned
from tests.fakes.gateway import FakeGateway
from tests.fakes.kitchens import at, small_kitchen

END = at("Thu 14:00")


def state(shifts: tuple[tuple[str, str], ...] = (("Thu 06:00", "Thu 14:00"),), *notes: Handover) -> State:
    """A kitchen whose early cook has these shifts."""
    kitchen = small_kitchen()
    own = tuple(Shift(start=at(start), end=at(end)) for start, end in shifts)
    crew = tuple(m.model_copy(update={"shifts": own}) if m.id == "early-cook" else m for m in kitchen.crew)
    return State(seq=1, kitchen=kitchen.model_copy(update={"crew": crew}), handovers=notes)


def note(by: str, when: datetime, **more: object) -> Handover:
    empty = HandoverNote(since=when - timedelta(hours=8), until=when)
    return Handover.model_validate({"number": 7, "by": by, "at": when, "note": empty.model_dump(), **more})


@pytest.mark.parametrize(("minutes", "offered"), [(-31, False), (-30, True), (0, True), (59, True), (60, False)])
def test_hand_over_is_offered_round_the_end_of_ones_own_shift(minutes: int, offered: bool) -> None:
    found = shift_that_ends(state(), "early-cook", END + timedelta(minutes=minutes))
    assert (found is not None) == offered


def test_hand_over_is_not_offered_to_others_nor_twice_nor_between_two_shifts_on_end() -> None:
    now = END - timedelta(minutes=5)
    assert shift_that_ends(state(), "manager", now) is None
    given = note("early-cook", END - timedelta(minutes=20))
    assert shift_that_ends(state((("Thu 06:00", "Thu 14:00"),), given), "early-cook", now) is None
    on = state((("Thu 06:00", "Thu 14:00"), ("Thu 14:00", "Thu 18:00")))
    assert shift_that_ends(on, "early-cook", now) is None


def test_note_is_to_be_read_until_somebody_takes_it_over_or_the_shift_is_long_over() -> None:
    left = note("early-cook", END)
    taken = note("early-cook", END, taken_by="manager", taken_at=END + timedelta(minutes=2))
    assert note_to_read(state((), left), "late-cook", END + timedelta(hours=3)) == 7
    assert note_to_read(state((), taken), "late-cook", END + timedelta(hours=3)) is None
    assert note_to_read(state((), left), "late-cook", END + timedelta(hours=17)) is None
    assert note_to_read(state(()), "late-cook", END) is None


def test_note_that_another_one_came_after_is_still_to_be_read() -> None:
    first = note("early-cook", END, number=7)
    second = note("pastry-cook", END + timedelta(hours=1), number=8)
    now = END + timedelta(hours=2)
    assert note_to_read(state((), first, second), "late-cook", now) == 8
    assert note_to_read(state((), first, second), "pastry-cook", now) == 7
    read = second.model_copy(update={"taken_by": "late-cook", "taken_at": now})
    assert note_to_read(state((), first, read), "late-cook", now) == 7


def test_whose_shift_ends_is_offered_both_below_and_the_unread_note_first_where_theirs_is_written() -> None:
    gateway = FakeGateway(canned.busy_station())
    now = gateway.snapshot().now
    shift = Shift(start=now - timedelta(hours=8), end=now + timedelta(minutes=5))
    kitchen = small_kitchen()
    crew = tuple(m.model_copy(update={"shifts": (shift,)}) if m.id == "early-cook" else m for m in kitchen.crew)
    left = note("late-cook", now - timedelta(minutes=10))
    known = replace(gateway.snapshot().state, kitchen=kitchen.model_copy(update={"crew": crew}), handovers=(left,))
    gateway.set_snapshot(state=known)
    client = create_app(gateway, gateway).web.test_client()
    client.set_cookie("person", "early-cook")
    header, main = client.get("/station/stove").text.split("<main>")
    assert (header.count('href="/handover"'), header.count("/handover/7")) == (1, 0)
    assert (main.count('href="/handover"'), main.count("/handover/7")) == (1, 1)
    written = client.get("/handover").text
    assert written.index("/handover/7") < written.index("Made from what happened")


@pytest.mark.parametrize("view", [canned.busy_station(), canned.idle_station()], ids=["in hand", "idle"])
@pytest.mark.parametrize(("person", "offers"), [("late-cook", 1), ("", 1), ("early-cook", 0)])
def test_note_is_offered_once_whatever_is_in_hand_and_never_to_its_author(
    view: StationView, person: str, offers: int
) -> None:
    gateway = FakeGateway(view)
    left = note("early-cook", canned.later(-10))
    gateway.set_snapshot(state=replace(gateway.snapshot().state, handovers=(left,)))
    client = create_app(gateway, gateway).web.test_client()
    if person:
        client.set_cookie("person", person)
    shown = client.get("/station/stove").text
    header, main = shown.split("<main>")
    # Below the screen stands what the header of a phone has no room for: one of the two is shown.
    assert [part.count("/handover/7") for part in (header, main)] == [offers, offers]
    assert main.split("</main>")[0].count("/handover/7") == 0
