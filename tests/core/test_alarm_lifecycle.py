"""The table of an alarm's life, its drawing, and that what happens on record follows it."""

from datetime import timedelta
from pathlib import Path

import pytest

from orchestrator.core.alarm_lifecycle import LIFE, AlarmChange, AlarmState, after, drawing, on_record, state_of
from orchestrator.core.events import (
    AlarmAcknowledged,
    AlarmEscalated,
    AlarmRaised,
    AlarmReturned,
    AlarmShelved,
    AlarmUnshelved,
    Event,
)
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, AlarmStatus, Priority
from orchestrator.core.state import State
from tests.fakes.kitchens import at
from tests.fakes.states import COOK, with_events

ID, NOW = AlarmId("probe_silent:fridge-air"), at("Fri 02:00")
FACTS = AlarmFacts(kind=AlarmKind.PROBE_SILENT, priority=Priority.NOTICE)
_S, _C = AlarmState, AlarmChange

RAISED = AlarmRaised(alarm=ID, at=NOW, facts=FACTS)
SEEN = AlarmAcknowledged(alarm=ID, at=NOW, person=COOK)
OVER = AlarmReturned(alarm=ID, at=NOW)
SHELVED = AlarmShelved(alarm=ID, at=NOW, person=COOK, until=NOW + timedelta(hours=1), reason="new battery is coming")
OFF = AlarmUnshelved(alarm=ID, at=NOW)
WORSE = AlarmEscalated(alarm=ID, at=NOW, facts=FACTS)

LEADS_TO: dict[AlarmState, tuple[Event, ...]] = {
    _S.NORMAL: (),
    _S.UNACKNOWLEDGED: (RAISED,),
    _S.ACKNOWLEDGED: (RAISED, SEEN),
    _S.RETURNED_UNACKNOWLEDGED: (RAISED, OVER),
    _S.SHELVED: (RAISED, SHELVED),
}
MAKES: dict[AlarmChange, Event] = {
    _C.RAISE: RAISED,
    _C.WORSEN: WORSE,
    _C.ACKNOWLEDGE: SEEN,
    _C.RETURN: OVER,
    _C.SHELVE: SHELVED,
    _C.UNSHELVE: OFF,
    _C.UNSHELVE_OVER: OFF,
}


def test_states_are_those_of_the_standard() -> None:
    # ANSI/ISA-18.2, alarm state transition diagram, from memory: normal, unacknowledged, acknowledged, returned to
    # normal unacknowledged, shelved, suppressed by design, out of service. A latched alarm that was acknowledged is
    # told apart there only by returning; ours do not latch.
    assert {state.value for state in LIFE} == {
        "normal",
        "unacknowledged",
        "acknowledged",
        "returned_unacknowledged",
        "shelved",
        "suppressed_by_design",
        "out_of_service",
    }


def test_states_on_record_are_those_with_a_status() -> None:
    assert {on_record(state) for state in AlarmState} == {*AlarmStatus, None}
    assert [s for s in AlarmState if on_record(s) is None] == [_S.NORMAL, _S.SUPPRESSED, _S.OUT_OF_SERVICE]


@pytest.mark.parametrize(
    ("state", "change"), [(s, c) for s in LEADS_TO for c in LIFE[s] if c is not AlarmChange.SUPPRESS]
)
def test_events_lead_where_the_table_says(state: AlarmState, change: AlarmChange) -> None:
    before = LEADS_TO[state] if change is not _C.UNSHELVE_OVER else (*LEADS_TO[state], OVER)
    found = with_events(State(), before, NOW)
    assert state_of(found.alarms.get(ID)) is state
    changed = with_events(found, [MAKES[change]], NOW)
    assert state_of(changed.alarms.get(ID)) is after(state, change)


def test_nobody_acknowledges_or_shelves_what_is_not_there() -> None:
    for state in (_S.NORMAL, _S.SUPPRESSED, _S.OUT_OF_SERVICE):
        assert after(state, _C.ACKNOWLEDGE) is None
        assert after(state, _C.SHELVE) is None
    assert after(_S.RETURNED_UNACKNOWLEDGED, _C.SHELVE) is None


def test_nothing_leads_out_of_service() -> None:
    assert _S.OUT_OF_SERVICE not in {to for changes in LIFE.values() for to in changes.values()}


def test_drawing_shows_every_change_of_the_table() -> None:
    lines = drawing().splitlines()
    assert lines[:3] == ["stateDiagram-v2", "    [*] --> normal", "    normal --> unacknowledged: its cause is there"]
    assert sum(": " in line for line in lines) == sum(len(changes) for changes in LIFE.values())


def test_drawing_for_developers_is_up_to_date() -> None:
    written = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert f"```mermaid\n{drawing()}```" in written, "put alarm_lifecycle.drawing() into DEVELOPERS.md anew"
