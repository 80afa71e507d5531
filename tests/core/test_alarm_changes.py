"""The states of ANSI/ISA-18.2 as a table: every state, with and without its condition."""

import pytest

from orchestrator.core.alarms.changes import changes
from orchestrator.core.ids import AlarmId, CrewId, OrderId
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmKind, AlarmStatus, Priority
from tests.fakes.kitchens import at

ID = AlarmId("store_warm:freezer")
MILD = AlarmFacts(kind=AlarmKind.STORE_WARM, priority=Priority.WARNING, orders=(OrderId("A"),), celsius=-14.0)
SAME = MILD.model_copy(update={"celsius": -12.0, "expected_at": at("Fri 03:00")})
FEWER = MILD.model_copy(update={"orders": ()})
MISSED = MILD.model_copy(update={"missed": True})
GRAVER = MILD.model_copy(update={"priority": Priority.CRITICAL})
MORE_ORDERS = MILD.model_copy(update={"orders": (OrderId("A"), OrderId("B"))})

UNSEEN, SEEN, OVER = AlarmStatus.UNACKNOWLEDGED, AlarmStatus.ACKNOWLEDGED, AlarmStatus.RETURNED_UNACKNOWLEDGED
NOW = at("Fri 02:30")
ON_SHELF = Alarm(
    id=ID,
    facts=MILD,
    status=AlarmStatus.SHELVED,
    raised_at=at("Fri 02:00"),
    shelved_at=at("Fri 02:10"),
    shelved_by=CrewId("manager"),
    shelved_until=at("Fri 03:00"),
)


@pytest.mark.parametrize(
    ("status", "condition", "told"),
    [
        (None, None, []),
        (None, MILD, ["alarm_raised"]),
        (UNSEEN, SAME, []),
        (UNSEEN, FEWER, []),
        (UNSEEN, MISSED, ["alarm_escalated"]),
        (UNSEEN, GRAVER, ["alarm_escalated"]),
        (UNSEEN, MORE_ORDERS, ["alarm_escalated"]),
        (UNSEEN, None, ["alarm_returned"]),
        (SEEN, SAME, []),
        (SEEN, MISSED, ["alarm_escalated"]),
        (SEEN, MORE_ORDERS, ["alarm_escalated"]),
        (SEEN, None, ["alarm_returned"]),
        (OVER, MILD, ["alarm_raised"]),
        (OVER, None, []),
    ],
)
def test_changes_of_an_alarm_follow_the_table(
    status: AlarmStatus | None, condition: AlarmFacts | None, told: list[str]
) -> None:
    known = {} if status is None else {ID: Alarm(id=ID, facts=MILD, status=status, raised_at=at("Fri 02:00"))}
    found = changes(known, {} if condition is None else {ID: condition}, at("Fri 02:30"))
    assert [event.kind for event in found] == told
    for event in found:
        assert (event.alarm, event.at) == (ID, at("Fri 02:30"))  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("over", "condition", "ends", "told"),
    [
        (False, SAME, False, []),
        (False, None, False, ["alarm_returned"]),
        (False, MISSED, False, ["alarm_escalated"]),
        (False, SAME, True, ["alarm_unshelved"]),
        (False, MISSED, True, ["alarm_escalated"]),
        (False, None, True, ["alarm_returned", "alarm_unshelved"]),
        (True, None, False, []),
        (True, SAME, False, ["alarm_raised"]),
        (True, GRAVER, False, ["alarm_unshelved", "alarm_raised"]),
        (True, SAME, True, ["alarm_unshelved", "alarm_raised"]),
        (True, None, True, ["alarm_unshelved"]),
    ],
)
def test_changes_of_a_shelved_alarm_follow_the_table(
    over: bool, condition: AlarmFacts | None, ends: bool, told: list[str]
) -> None:
    until = NOW if ends else at("Fri 03:00")
    known = ON_SHELF.model_copy(update={"returned_at": at("Fri 02:20") if over else None, "shelved_until": until})
    found = changes({ID: known}, {} if condition is None else {ID: condition}, NOW)
    assert [event.kind for event in found] == told
