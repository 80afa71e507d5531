"""A kitchen that works by one record for weeks: the same orders come again every few days, the same people work."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.adoption import still_holds
from orchestrator.core.days_events import DaysMoved
from orchestrator.core.events import Recorded
from orchestrator.core.ids import CommandId, OrderId
from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.core.models import Kitchen, Order
from orchestrator.core.models.change import AddOrder
from orchestrator.core.models.kitchen import Shift
from orchestrator.core.state import State
from tests.simulation.faulty.house import House
from tests.simulation.faulty.judge import Judge, hold
from tests.simulation.faulty.kitchens import kitchen_of

DAY: Final = timedelta(days=1)
_EVERY_DAYS: Final = 4
"""The chance kitchens' days."""


def for_weeks(kitchen: Kitchen, weeks: int) -> Kitchen:
    """The same people at the same hours, again and again."""
    rounds = weeks * 7 // _EVERY_DAYS + 2
    crew = tuple(
        member.model_copy(update={"shifts": tuple(s for n in range(rounds) for s in _again(member.shifts, n))})
        for member in kitchen.crew
    )
    return kitchen.model_copy(update={"crew": crew})


def _again(shifts: tuple[Shift, ...], number: int) -> list[Shift]:
    by = number * _EVERY_DAYS * DAY
    return [
        shift.model_copy(
            update={
                "start": shift.start + by,
                "end": shift.end + by,
                "breaks": tuple(b.model_copy(update={"start": b.start + by, "end": b.end + by}) for b in shift.breaks),
            }
        )
        for shift in shifts
    ]


@dataclass(slots=True)
class Moving(Judge):
    """Sees the days go on: the plan that was worked by holds after it as it did before."""

    moves: int = 0
    held: int = 0
    """How often the plan held before, so that it could be seen to hold on."""
    most_tasks: int = 0

    def _take(self, recorded: Recorded) -> None:
        before = self.replayed
        Judge._take(self, recorded)
        if isinstance(recorded.event, DaysMoved):
            self.moves += 1
            self._still_held(before, recorded.at)
        plan = self.replayed.plan
        self.most_tasks = max(self.most_tasks, len(plan.tasks) if plan is not None else 0)

    def _still_held(self, before: State, at: datetime) -> None:
        if still_holds(before, at):
            self.held += 1
            hold(still_holds(self.replayed, at), f"the plan held before the days went on at {at}, and no longer does")


def live(seed: int, *, weeks: int) -> Counter[str]:
    """Live through weeks without faults, orders coming as they did at first.

    Returns:
        What was counted.

    Raises:
        Broken: an invariant does not hold.
    """
    kitchen = for_weeks(kitchen_of(seed, change=False), weeks)
    house = House(kitchen, seed, [], judge=Moving, calls=False)
    for number in range(1, weeks * 7 // _EVERY_DAYS + 1):
        for order in kitchen.orders:
            _expect(house, _later(order, number), number)
    lived = house.live(weeks * 7 * DAY.total_seconds())
    judge = house.judge
    assert isinstance(judge, Moving)
    state = judge.replayed
    return lived.counted + Counter(
        {
            "moves of the days": judge.moves,
            "plans that held, and held on": judge.held,
            "tasks in the plan at most": judge.most_tasks,
            "tasks in the plan at last": len(state.plan.tasks) if state.plan is not None else 0,
            "tasks that left it": len(state.past.tasks),
            "orders that left it": len(state.past.orders),
            "orders in the kitchen at last": len(state.kitchen.orders) if state.kitchen is not None else 0,
        }
    )


def _later(order: Order, number: int) -> Order:
    by = number * _EVERY_DAYS * DAY
    earliest = None if order.earliest is None else order.earliest + by
    told = {"id": OrderId(f"{order.id}-{number}"), "due": order.due + by, "earliest": earliest}
    return order.model_copy(update=told)


def _expect(house: House, order: Order, number: int) -> None:
    """It is asked for a day and a half before the round of its own begins."""
    manager = next((m.id for m in house.machine.kitchen.crew if m.manager), house.machine.kitchen.crew[0].id)
    told = ChangeKitchen(command_id=CommandId(f"order-{order.id}"), person=manager, changes=(AddOrder(order=order),))
    house.world.after((number * _EVERY_DAYS - 1.5) * DAY.total_seconds(), lambda: house.door.send(told))
