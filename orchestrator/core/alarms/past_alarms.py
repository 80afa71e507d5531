"""Food past its date that is still there: one alarm for each place and sort of date, however many lots there are."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

from orchestrator.core.alarms.look import Look, alarm_id
from orchestrator.core.alarms.past_dates import Dated, dated
from orchestrator.core.ids import AlarmId, EquipmentId
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, PastLot, Priority


def past_conditions(look: Look) -> dict[AlarmId, AlarmFacts]:
    """Past a use-by and past a best-before apart.

    A notice, so that nobody is woken for it: nothing offers such a lot to a step, and a step or a hand-over that would
    take it does not begin.
    """
    by_place: dict[tuple[AlarmKind, EquipmentId | None], list[Dated]] = defaultdict(list)
    for one in dated(look):
        # A place that the kitchen no longer has is none: all that nobody can say the place of is one alarm.
        place = one.place if one.place in look.kitchen.equipment else None
        if one.past_use_by(look.now):
            by_place[AlarmKind.PAST_USE_BY, place].append(one)
        elif one.past_best_before(look.now):
            by_place[AlarmKind.PAST_BEST_BEFORE, place].append(one)
    return dict(alarm for (kind, place), lots in by_place.items() for alarm in _alarm(look, kind, place, lots))


def _alarm(
    look: Look, kind: AlarmKind, place: EquipmentId | None, lots: Sequence[Dated]
) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    safety = kind is AlarmKind.PAST_USE_BY
    past = sorted((_told(one, safety=safety) for one in lots), key=lambda one: (one.until, one.lot))
    known = look.kitchen.equipment.get(place) if place is not None else None
    several = len(past) > 1
    yield (
        alarm_id(kind, known.id if known is not None else "nowhere"),
        AlarmFacts(
            kind=kind,
            priority=Priority.NOTICE,
            missed=safety,
            title=past[0].name if not several else known.name if known is not None else "",
            lot=past[0].lot if not several else None,
            lots=tuple(one.lot for one in past),
            equipment=known.id if known is not None else None,
            stations=(known.station,) if known is not None else (),
            since=past[0].until,
            helps=(Help.THROW_AWAY,) if safety else (Help.JUDGE_QUALITY, Help.THROW_AWAY),
            past=tuple(past),
        ),
    )


def _told(one: Dated, *, safety: bool) -> PastLot:
    until = one.use_by if safety else one.best_before
    assert until is not None
    return PastLot(lot=one.lot, name=one.name, left=one.left, until=until)
