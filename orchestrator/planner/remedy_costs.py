"""What a remedy costs, in minutes of trouble: prices of ours, for ranking remedies among each other only."""

from datetime import datetime

from orchestrator.core.models import Kitchen
from orchestrator.core.models.change import AllowBreak, Change, ChangeOrder, SmallerBatch
from orchestrator.core.models.change_crew import ExtraShift, StartEarlier

CREW_PER_MIN = 1.0
"""A minute longer of somebody who is there anyway."""
CALLED_IN_MIN = 60.0
"""Somebody who would not come at all that day, on top of the minutes."""
EARLY_PER_MIN = 1.5
"""Before a shift begins sleep is lost: half as dear again."""
LATER_PER_MIN = 1.0
"""A later hand-over, times the order's weight: the customer has to be asked."""
ASKING_MIN = 30.0
"""Asking a customer at all: about a later hand-over, or about less."""
LESS_PER_PERCENT = 6.0
"""Less of what was ordered, times the order's weight: a tenth less is an hour of trouble."""
BREAK_EACH_MIN = 60.0
BREAK_PER_MIN = 1.0
"""Food that is not what it should be, named openly and answered for by a person."""


def cost(kitchen: Kitchen, changes: tuple[Change, ...]) -> int:
    """What changes cost together, in minutes of trouble."""
    return round(sum(_one(kitchen, change) for change in changes))


def _one(kitchen: Kitchen, change: Change) -> float:
    match change:
        case ExtraShift():
            return CREW_PER_MIN * _minutes(change.start, change.end) + _called_in(kitchen, change)
        case StartEarlier():
            member = next(m for m in kitchen.crew if m.id == change.crew)
            begins = min(s.start for s in member.shifts if s.start > change.start)
            return EARLY_PER_MIN * _minutes(change.start, begins)
        case ChangeOrder() if change.due is not None:
            order = next(o for o in kitchen.orders if o.id == change.order)
            return ASKING_MIN + LATER_PER_MIN * order.weight * _minutes(order.due, change.due)
        case SmallerBatch():
            order = next(o for o in kitchen.orders if o.id == change.order)
            wanted = sum(line.quantity.value for line in order.lines if line.product == change.product)
            return ASKING_MIN + LESS_PER_PERCENT * order.weight * 100 * (1 - change.quantity.value / wanted)
        case AllowBreak():
            return BREAK_EACH_MIN + BREAK_PER_MIN * change.minutes
        case _:
            return 0.0


def _called_in(kitchen: Kitchen, change: ExtraShift) -> float:
    member = next(m for m in kitchen.crew if m.id == change.crew)
    day = kitchen.local(change.start).date()
    return 0.0 if any(kitchen.local(s.start).date() == day for s in member.shifts) else CALLED_IN_MIN


def _minutes(start: datetime, end: datetime) -> float:
    return (end - start).total_seconds() / 60
