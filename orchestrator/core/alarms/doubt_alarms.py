"""Places that failed, are cold again, and hold lots about which nobody has decided."""

from collections.abc import Iterator

from orchestrator.core.alarms.look import Look, alarm_id
from orchestrator.core.deviations.places import inside
from orchestrator.core.deviations.standing import held, places_failed, undecided
from orchestrator.core.ids import AlarmId
from orchestrator.core.models import Equipment
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority
from orchestrator.core.models.deviation import Deviation


def doubt_conditions(look: Look) -> dict[AlarmId, AlarmFacts]:
    """One alarm a place. While it fails, its own alarm stands; lots on hold have alarms of theirs."""
    found: dict[AlarmId, AlarmFacts] = {}
    for deviation in places_failed(look.state):
        place = look.kitchen.equipment.get(deviation.facts.equipment) if deviation.facts.equipment else None
        if place is not None and deviation.until is not None:
            found.update(_asked(look, deviation, place))
    return found


def _asked(look: Look, deviation: Deviation, place: Equipment) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    lots = tuple(lot for lot in undecided(look.state, deviation) if not held(look.state, lot))
    if not lots:
        return
    tasks = [task for task in inside(look.state).get(place.id, []) if task.lot in lots]
    yield (
        alarm_id(AlarmKind.LOTS_ASKED, place.id),
        AlarmFacts(
            kind=AlarmKind.LOTS_ASKED,
            priority=Priority.WARNING,
            title=place.name,
            lots=lots,
            equipment=place.id,
            stations=(place.station,),
            orders=look.orders(tasks),
            since=deviation.until,
            reason=deviation.facts.reason,
            helps=(Help.MEASURE_BY_HAND, Help.DECIDE_LOT),
        ),
    )
