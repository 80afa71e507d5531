"""Many alarms at once: grouped under what caused them, with the count, and nothing critical inside a group.

Source: ANSI/ISA-18.2 and EEMUA 191 call more than ten alarms in ten minutes for one operator a flood; from memory. The
groups, and what belongs to which cause, are ours.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Literal

from orchestrator.core.ids import OrderId
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmKind, Priority

FLOOD: Final = 10
"""More than so many within `SPAN` are a flood."""
SPAN: Final = timedelta(minutes=10)
TOGETHER: Final = timedelta(minutes=5)
"""Probes that fall silent within this have one cause: a broker, a network, a power supply."""
SILENT_TOGETHER: Final = 3
LATE_TOGETHER: Final = 2
"""So many late starts have one cause: hands are missing."""
_OF_PLANS: Final = {AlarmKind.WINDOW_CLOSING, AlarmKind.TOO_SHORT, AlarmKind.ORDER_LATE, AlarmKind.TASK_LATE}
_OF_FOOD: Final = {AlarmKind.LOT_ON_HOLD, AlarmKind.TARGET_MISSED, AlarmKind.WINDOW_CLOSING}
_OF_PROBES: Final = {AlarmKind.PROBE_SILENT, AlarmKind.PROBE_DOUBTED, AlarmKind.STORE_WARM, AlarmKind.TARGET_MISSED}
_RANK: Final = {Priority.CRITICAL: 0, Priority.WARNING: 1, Priority.NOTICE: 2}

CauseKind = Literal["machine", "store", "readings", "hands", "other"]


@dataclass(frozen=True, slots=True)
class Group:
    """Alarms with one cause, the oldest first."""

    cause: CauseKind
    title: str
    """Of the machine or store; empty where the cause has no name."""
    alarms: tuple[Alarm, ...]

    @property
    def first(self) -> Alarm:
        """The one that came first."""
        return self.alarms[0]

    @property
    def worst(self) -> Alarm:
        """The one that matters most: missed before threatening, the oldest of equals."""
        return min(self.alarms, key=lambda a: (_RANK[a.facts.priority], not a.facts.missed, a.raised_at, a.id))

    @property
    def rest(self) -> tuple[Alarm, ...]:
        """All but the first and the worst."""
        return tuple(a for a in self.alarms if a.id not in {self.first.id, self.worst.id})


@dataclass(frozen=True, slots=True)
class Flood:
    """What is shown while there are too many to read one by one."""

    count: int
    """Told within the last ten minutes."""
    critical: tuple[Alarm, ...]
    """Never in a group."""
    groups: tuple[Group, ...]
    """The largest first; what has no cause in common with anything comes last."""


def lately(alarms: Iterable[Alarm], now: datetime) -> int:
    """How many times people were told within the last ten minutes, of alarms that are on record."""
    instants = (at for a in alarms for at in (a.raised_at, a.escalated_at, a.unshelved_at) if at is not None)
    return sum(now - SPAN < at <= now for at in instants)


def flood(alarms: Sequence[Alarm], now: datetime) -> Flood | None:
    """The alarms on record in groups; none while they are few enough to be read one by one.

    Args:
        alarms: all on record; those on the shelf are left out of the groups, not of the count.
        now: aware instant.
    """
    count = lately(alarms, now)
    if count <= FLOOD:
        return None
    shown = sorted((a for a in alarms if not a.shelved), key=lambda a: (a.raised_at, a.id))
    critical = tuple(a for a in shown if a.facts.priority is Priority.CRITICAL)
    return Flood(count, critical, _groups(shown))


@dataclass(frozen=True, slots=True)
class _Cause:
    kind: CauseKind
    title: str
    holds: Callable[[Alarm], bool]


def _groups(shown: Sequence[Alarm]) -> tuple[Group, ...]:
    left = [a for a in shown if a.facts.priority is not Priority.CRITICAL]
    found: list[Group] = []
    for cause in _causes(shown):
        mine = tuple(a for a in left if cause.holds(a))
        if len(mine) > 1:
            found.append(Group(cause.kind, cause.title, mine))
            left = [a for a in left if a not in mine]
    found.sort(key=lambda g: (-len(g.alarms), g.first.raised_at))
    return (*found, *([Group("other", "", tuple(left))] if left else []))


def _causes(shown: Sequence[Alarm]) -> list[_Cause]:
    """What may lie behind the others, the surest first; a critical alarm may be a cause too."""
    found = [
        _Cause("machine", a.facts.title, _under_machine(a)) for a in shown if a.facts.kind is AlarmKind.MACHINE_STOPPED
    ]
    found += [_Cause("store", a.facts.title, _under_store(a)) for a in shown if a.facts.kind is AlarmKind.STORE_WARM]
    silent = [a for a in shown if a.facts.kind is AlarmKind.PROBE_SILENT]
    if _fell_together(silent):
        found.append(_Cause("readings", "", lambda a: a.facts.kind in _OF_PROBES))
    late = [a for a in shown if a.facts.kind is AlarmKind.TASK_LATE]
    if len(late) >= LATE_TOGETHER:
        orders = {order for a in late for order in a.facts.orders}
        found.append(_Cause("hands", "", lambda a: a in late or _waits(a.facts, orders)))
    return found


def _under_machine(cause: Alarm) -> Callable[[Alarm], bool]:
    at, facts = cause.raised_at, cause.facts

    def holds(alarm: Alarm) -> bool:
        if alarm.id == cause.id or alarm.facts.equipment == facts.equipment:
            return True
        shared = set(alarm.facts.lots) & set(facts.lots) or set(alarm.facts.orders) & set(facts.orders)
        return alarm.facts.kind in _OF_PLANS and alarm.raised_at >= at and bool(shared)

    return holds


def _under_store(cause: Alarm) -> Callable[[Alarm], bool]:
    facts = cause.facts

    def holds(alarm: Alarm) -> bool:
        if alarm.id == cause.id or alarm.facts.equipment == facts.equipment:
            return True
        return alarm.facts.kind in _OF_FOOD and bool(set(alarm.facts.lots) & set(facts.lots))

    return holds


def _fell_together(silent: Sequence[Alarm]) -> bool:
    """Whether so many probes fell silent at nearly the same time that one thing must have silenced them."""
    since = sorted(a.facts.since or a.raised_at for a in silent)
    last = SILENT_TOGETHER - 1
    return any(since[i + last] - since[i] <= TOGETHER for i in range(len(since) - last))


def _waits(facts: AlarmFacts, orders: set[OrderId]) -> bool:
    """Whether an alarm is about what late starts hold up."""
    return facts.kind in _OF_PLANS and bool(orders & set(facts.orders))
