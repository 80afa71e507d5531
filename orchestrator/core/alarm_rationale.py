"""What each kind of alarm is for: the rationalisation of ANSI/ISA-18.2 as a table.

Cause, consequence, time to act and what to do are words, and display's (`display/words`); here is what
rules depend on. Source: ANSI/ISA-18.2, rationalisation and the alarm database: every alarm has cause, consequence,
operator action and time to respond; from memory.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Priority


@dataclass(frozen=True, slots=True)
class Rationale:
    """Of one kind of alarm."""

    food: bool
    """Whether food may become unsafe or be lost unseen behind it: never suppressed by design, and while critical
    never shelved."""
    time_to_act: Literal["limit_at", "save_by", "at once", "before it is used"]
    """Which instant of its facts ends the time to act, or in words where there is none."""
    instead: str
    """What somebody does who may not shelve it."""
    told_by: AlarmKind | None = None
    """The kind that takes its place for the same task: suppression by design."""


_K = AlarmKind
RATIONALE: Final[Mapping[AlarmKind, Rationale]] = {
    _K.WINDOW_CLOSING: Rationale(True, "save_by", "decide about the lot"),
    _K.TOO_SHORT: Rationale(True, "limit_at", "decide about the lot"),
    _K.ORDER_LATE: Rationale(False, "save_by", "tell the customer"),
    _K.ORDER_UNPLANNED: Rationale(False, "limit_at", "ask for a plan, or leave the order out"),
    _K.ORDERS_UNDECIDED: Rationale(False, "at once", "drop it, or give it a new time"),
    _K.TASK_LATE: Rationale(False, "save_by", "begin it, or skip it with a reason", told_by=_K.WINDOW_CLOSING),
    _K.STORE_WARM: Rationale(True, "limit_at", "move the food to a store that is cold, and measure it by hand"),
    _K.TARGET_MISSED: Rationale(True, "limit_at", "measure the food by hand, then decide about the lot"),
    _K.PROBE_SILENT: Rationale(True, "at once", "measure by hand until it is heard again"),
    _K.PROBE_DOUBTED: Rationale(True, "at once", "measure by hand until it may be believed again"),
    _K.PROBE_BATTERY: Rationale(False, "at once", "change its battery"),
    _K.PROBE_CHECK_DUE: Rationale(False, "at once", "check it in ice water"),
    _K.PROBE_UNWASHED: Rationale(True, "at once", "say that it was washed, or put the lot on hold"),
    _K.MACHINE_STOPPED: Rationale(True, "save_by", "move what is in it, or say when the machine is back"),
    _K.LOT_ON_HOLD: Rationale(True, "before it is used", "decide about the lot"),
    _K.DELIVERY_OVERDUE: Rationale(False, "at once", "receive it, or say when it comes"),
    _K.BY_PRODUCT_PAST: Rationale(False, "before it is used", "throw it away and say so"),
    _K.PAST_USE_BY: Rationale(True, "before it is used", "discard it and say so"),
    _K.PAST_BEST_BEFORE: Rationale(False, "before it is used", "judge it, then keep it with a reason or discard it"),
    _K.LOTS_ASKED: Rationale(True, "before it is used", "measure each lot by hand and decide about it"),
}


def critical_for_food(facts: AlarmFacts) -> bool:
    """Whether an alarm is one that nobody may put on the shelf."""
    return facts.priority is Priority.CRITICAL and RATIONALE[facts.kind].food


def suppressible(kind: AlarmKind) -> AlarmKind | None:
    """The kind that takes the place of another for the same task; none where nothing may."""
    rationale = RATIONALE[kind]
    return None if rationale.food else rationale.told_by
