"""Ingredients: deliveries that nobody has received."""

from collections.abc import Iterator
from datetime import datetime

from orchestrator.core.alarms.look import Look, alarm_id
from orchestrator.core.ids import AlarmId
from orchestrator.core.models import PlannedTask, Supply
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority
from orchestrator.core.supplies_now import expected_at, is_overdue
from orchestrator.core.supply_cover import covered_now


def supply_conditions(look: Look) -> dict[AlarmId, AlarmFacts]:
    """One alarm for each ingredient that is overdue."""
    found: dict[AlarmId, AlarmFacts] = {}
    for supply in look.kitchen.kitchen.supplies:
        if is_overdue(supply, look.kitchen.kitchen, look.now):
            found.update(_overdue(look, supply))
    return found


def _overdue(look: Look, supply: Supply) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    """A delivery that no work waits for is nobody's alarm."""
    tasks = list(_waiting(look, supply.ingredient))
    if not tasks:
        return
    yield (
        alarm_id(AlarmKind.DELIVERY_OVERDUE, supply.ingredient),
        AlarmFacts(
            kind=AlarmKind.DELIVERY_OVERDUE,
            priority=Priority.WARNING,
            title=supply.ingredient,
            stations=tuple(dict.fromkeys(task.station for task in tasks)),
            orders=look.orders(tasks),
            since=supply.ready,
            expected_at=expected_at(supply, look.kitchen.kitchen, look.now),
            assumed=True,
            helps=(Help.RECEIVE_IT, Help.ASK_SUPPLIER),
        ),
    )


def _waiting(look: Look, ingredient: str) -> Iterator[PlannedTask]:
    enough = covered_now(look.state, look.now)
    for task in look.waiting_work():
        step = look.kitchen.step(task)
        takes = step.takes if step is not None else ()
        if any(take.ingredient == ingredient for take in takes) and (task.id, ingredient) not in enough:
            yield task


def supply_instants(look: Look) -> Iterator[datetime]:
    """When a delivery is overdue, or is taken to come later still."""
    kitchen = look.kitchen.kitchen
    for supply in kitchen.supplies:
        if supply.why == "delivery" and supply.ready > kitchen.first_start:
            yield expected_at(supply, kitchen, look.now)
