"""The life of an alarm as a table, after ANSI/ISA-18.2, and the drawing made from it.

Source: ANSI/ISA-18.2 and IEC 62682, the alarm state transition diagram: its states, and what leads from one to the
other. From memory; we have not read a copy of either beside this table.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final

from orchestrator.core.models.alarm import Alarm, AlarmStatus


class AlarmState(StrEnum):
    """States of the standard. Four of them can be on record; see `AlarmStatus`."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED_UNACKNOWLEDGED = "returned_unacknowledged"
    SHELVED = "shelved"
    SUPPRESSED = "suppressed_by_design"
    OUT_OF_SERVICE = "out_of_service"


class AlarmChange(StrEnum):
    """What moves an alarm from one state to another."""

    RAISE = "its cause is there"
    WORSEN = "it becomes worse"
    ACKNOWLEDGE = "somebody has seen it"
    RETURN = "its cause is over"
    SHELVE = "somebody puts it on the shelf"
    UNSHELVE = "off the shelf, its cause is there"
    UNSHELVE_OVER = "off the shelf, its cause is over"
    SUPPRESS = "a worse alarm tells the same"
    RELEASE = "no other alarm tells it any more"


_S, _C = AlarmState, AlarmChange

LIFE: Final[Mapping[AlarmState, Mapping[AlarmChange, AlarmState]]] = {
    _S.NORMAL: {_C.RAISE: _S.UNACKNOWLEDGED, _C.SUPPRESS: _S.SUPPRESSED},
    _S.UNACKNOWLEDGED: {
        _C.WORSEN: _S.UNACKNOWLEDGED,
        _C.ACKNOWLEDGE: _S.ACKNOWLEDGED,
        _C.RETURN: _S.RETURNED_UNACKNOWLEDGED,
        _C.SHELVE: _S.SHELVED,
    },
    _S.ACKNOWLEDGED: {
        # What has become worse must be seen again.
        _C.WORSEN: _S.UNACKNOWLEDGED,
        _C.RETURN: _S.NORMAL,
        _C.SHELVE: _S.SHELVED,
    },
    _S.RETURNED_UNACKNOWLEDGED: {_C.RAISE: _S.UNACKNOWLEDGED, _C.ACKNOWLEDGE: _S.NORMAL},
    _S.SHELVED: {
        # Coming and going is what people shelve an alarm for: neither takes it off the shelf.
        _C.RAISE: _S.SHELVED,
        _C.RETURN: _S.SHELVED,
        _C.WORSEN: _S.UNACKNOWLEDGED,
        _C.UNSHELVE: _S.UNACKNOWLEDGED,
        _C.UNSHELVE_OVER: _S.NORMAL,
    },
    # Only what `alarm_rationale` names: nothing that holds food.
    _S.SUPPRESSED: {_C.RELEASE: _S.NORMAL},
    # No way leads here: a probe that is sent away is shelved, to an end, and somebody measures by hand.
    _S.OUT_OF_SERVICE: {},
}
"""State and change, and the state that follows. What is not here does not happen, or is refused to people."""


def state_of(alarm: Alarm | None) -> AlarmState:
    """The state of an alarm on record, or of none."""
    return AlarmState.NORMAL if alarm is None else AlarmState(alarm.status.value)


def after(state: AlarmState, change: AlarmChange) -> AlarmState | None:
    """The state that a change leads to; none where it cannot happen."""
    return LIFE[state].get(change)


def on_record(state: AlarmState) -> AlarmStatus | None:
    """The status under which a state is on record; none for those that are not."""
    return next((status for status in AlarmStatus if status.value == state.value), None)


def drawing() -> str:
    """The table as a Mermaid state diagram; states to which nothing leads are left out."""
    reached = {_S.NORMAL, *(to for changes in LIFE.values() for to in changes.values())}
    lines = ["stateDiagram-v2", f"    [*] --> {_S.NORMAL}"]
    for state, changes in LIFE.items():
        if state in reached:
            lines += [f"    {state} --> {to}: {change.value}" for change, to in changes.items()]
    return "\n".join(lines) + "\n"
