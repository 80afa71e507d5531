"""What follows for lots from anything that has happened: what was made from a lot in doubt is in doubt too, every hold
is part of a deviation, and whoever has food in a place that fails is asked about it. Derived after every command, as
alarms are, so that no act can forget it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from orchestrator.core.commands import Command
from orchestrator.core.deviations.opening import (
    facts_of_check,
    facts_of_hold,
    facts_of_old_hold,
    facts_of_place,
    says_of_check,
)
from orchestrator.core.deviations.places import (
    Failure,
    failures,
    inside,
    lots_of,
    measured,
    on_hand,
    still_good_c,
    unseen,
    unseen_on_hand,
)
from orchestrator.core.deviations.standing import gone, held, open_deviations, places_failed, settled
from orchestrator.core.events import ActUndone, Event, Recorded
from orchestrator.core.evolve import evolve_decided
from orchestrator.core.ids import DeviationId, EquipmentId, LotCode, SupplyLotId
from orchestrator.core.lot_events import (
    DeviationClosed,
    DeviationOpened,
    DeviationSpread,
    LotAnswered,
    LotHeld,
    PlaceRecovered,
)
from orchestrator.core.lot_trace import made_from
from orchestrator.core.models import Equipment, PlannedTask, TaskKind
from orchestrator.core.models.deviation import Deviation, DeviationFacts
from orchestrator.core.plan_index import kitchen_index
from orchestrator.core.probe_events import ProbeChecked
from orchestrator.core.state import Facts, State
from orchestrator.thermal.softening import core_at_most


@dataclass
class _Book:
    """The state as it becomes, and what is put on record on the way."""

    state: State
    command: Command
    now: datetime
    facts: Facts
    events: list[Event] = field(default_factory=list)

    def add(self, event: Event) -> None:
        recorded = Recorded(seq=self.state.seq + 1, at=self.now, command_id=self.command.command_id, event=event)
        self.state = evolve_decided(self.state, recorded)
        self.events.append(event)

    def open(self, facts: DeviationFacts) -> None:
        name = DeviationId(f"DEV-{len(self.state.deviations) + 1}")
        self.add(DeviationOpened(deviation=name, at=self.now, facts=facts))


def followed(
    before: State, events: Sequence[Event], command: Command, now: datetime, facts: Facts
) -> tuple[State, tuple[Event, ...]]:
    """What must be put on record after the events of a command.

    Args:
        before: The state that the command found.
        events: What it leads to.
        command: It.
        now: The present instant.
        facts: The latest fact of every probe.

    Returns:
        The state after all, and the further events.
    """
    book = _Book(before, command, now, facts)
    for event in events:
        book.add(event)
    book.events.clear()
    if book.state.kitchen is None:
        return book.state, ()
    for event in events:
        if isinstance(event, LotHeld):
            _hold_opens(book, event, events)
        elif isinstance(event, LotAnswered) and event.answer.answer == "discarded":
            _discarded(book, event)
        elif isinstance(event, ActUndone):
            _taken_back(book)
        elif isinstance(event, ProbeChecked) and not event.passed:
            _check_failed(book, event)
    _places(book)
    _softened(book)
    _old_holds(book)
    return book.state, tuple(book.events)


def _hold_opens(book: _Book, event: LotHeld, events: Sequence[Event]) -> None:
    """A hold opens a deviation, unless it answers one about a place; its lots are all that the food went into."""
    if not held(book.state, event.lot):
        return
    lots = (event.lot, *_made(book, event))
    if any(event.lot in d.lots for d in places_failed(book.state) if d.answer(event.lot) is not None):
        return
    book.open(facts_of_hold(book.state, event, lots, events, book.command))


def _discarded(book: _Book, event: LotAnswered) -> None:
    """What was thrown away unmeasured was bad for all that is known, and so is what was taken of it meanwhile."""
    lot = event.answer.lot
    for deviation in places_failed(book.state, event.equipment):
        if lot not in deviation.lots:
            continue
        made = tuple(m for m in made_from(book.state, lot, deviation.asked_since) if not gone(book.state, m))
        for one in made:
            if not held(book.state, one) and not book.state.past.has(one):
                reason = f"made from {lot}, which was discarded: {deviation.facts.reason}"
                book.add(LotHeld(lot=one, at=event.answer.at, reason=reason, made_from=lot))
        new = tuple(m for m in made if m not in deviation.lots)
        if new:
            book.add(DeviationSpread(deviation=deviation.id, at=book.now, lots=new))


def _check_failed(book: _Book, check: ProbeChecked) -> None:
    """What a probe has judged since its last good check, and all that was made from it, is in doubt together."""
    judged = [lot for lot in check.in_doubt if not gone(book.state, lot)]
    made = [lot for source in judged for lot in made_from(book.state, source) if not gone(book.state, lot)]
    lots = tuple(dict.fromkeys((*judged, *made)))
    if not lots:
        return
    says = says_of_check(book.state, check)
    # Of lots of former days nothing is left to be held; who got food of them is on the deviation.
    for lot in (one for one in lots if not book.state.past.has(one)):
        if not held(book.state, lot):
            source = None if lot in judged else next(s for s in judged if lot in made_from(book.state, s))
            reason = says if source is None else f"made from {source}, which is on hold: {says}"
            book.add(LotHeld(lot=lot, at=check.at, reason=reason, made_from=source))
    book.open(facts_of_check(book.state, check, lots))


def _made(book: _Book, event: LotHeld) -> tuple[LotCode, ...]:
    """What was made from a lot goes on hold with it, but for what was thrown away."""
    made = tuple(lot for lot in made_from(book.state, event.lot) if not gone(book.state, lot))
    for lot in made:
        if not held(book.state, lot) and not book.state.past.has(lot):
            reason = f"made from {event.lot}, which is on hold: {event.reason}"
            book.add(LotHeld(lot=lot, at=event.at, reason=reason, task=event.task, made_from=event.lot))
    return made


def _taken_back(book: _Book) -> None:
    """Deviations whose act was taken back: none of their lots is on hold, and nobody has decided."""
    for deviation in open_deviations(book.state):
        decided = any(deviation.disposition(lot) for lot in deviation.lots)
        if not deviation.facts.asked and not decided and not any(held(book.state, lot) for lot in deviation.lots):
            closed = {"deviation": deviation.id, "at": book.now, "person": book.command.person, "withdrawn": True}
            book.add(DeviationClosed.model_validate({**closed, "note": "the act was taken back"}))


def _old_holds(book: _Book) -> None:
    """Lots that were put on hold before there were deviations."""
    known = {lot for deviation in open_deviations(book.state) for lot in deviation.lots}
    for lot, record in tuple(book.state.lots.items()):
        if held(book.state, lot) and lot not in known:
            book.open(facts_of_old_hold(lot, record))


def _places(book: _Book) -> None:
    assert book.state.kitchen is not None
    here: dict[EquipmentId, list[PlannedTask]] | None = None
    for place in kitchen_index(book.state.kitchen).equipment.values():
        running = tuple(places_failed(book.state, place.id))
        if not running and not _suspect(book, place):
            continue
        here = inside(book.state) if here is None else here
        tasks = here.get(place.id, [])
        wrong = list(failures(book.state, place, book.facts, book.now, tasks))
        for failure in wrong:
            _fails(book, place, failure, tasks, running)
        for deviation in running:
            if deviation.until is None and all(f.cause != deviation.facts.cause for f in wrong):
                _recovers(book, place, deviation)


def _suspect(book: _Book, place: Equipment) -> bool:
    """Whether anything at all can be wrong there: most of the time nothing is, and this is asked at every command."""
    if place.id in book.state.machines:
        return True
    facts = (f for f in book.facts.values() if f.equipment == place.id)
    return any(f.outside_since is not None or f.silent_since is not None for f in facts)


def _fails(
    book: _Book, place: Equipment, failure: Failure, tasks: list[PlannedTask], running: tuple[Deviation, ...]
) -> None:
    stands = on_hand(book.state, place.id)
    if failure.cause == "record gap":
        stands = unseen_on_hand(book.state, place, tasks, failure.since, book.now)
        tasks = [task for task in tasks if task in unseen(book.state, tasks, failure.since, book.now)]
    kept = tuple(lot for lot in lots_of(tasks) if not gone(book.state, lot))
    lots = (*kept, *(LotCode(lot.id) for lot in stands))
    same = next((d for d in running if d.facts.cause == failure.cause), None)
    if same is None:
        if lots:
            book.open(facts_of_place(book.state, place, failure, lots, tasks))
        return
    again = same.until is not None
    new = tuple(lot for lot in lots if lot not in same.lots)
    if again and lots:
        book.add(DeviationSpread(deviation=same.id, at=failure.since, lots=new, again=True))
    elif new:
        book.add(DeviationSpread(deviation=same.id, at=book.now, lots=new))


def _recovers(book: _Book, place: Equipment, deviation: Deviation) -> None:
    """The lots stay asked about; how warm they can have become is kept with the deviation."""
    assert book.state.kitchen is not None
    probes = {p.id for p in kitchen_index(book.state.kitchen).probes_at.get(place.id, ())}
    facts = [f for f in book.facts.values() if f.probe in probes]
    stopped = deviation.facts.cause == "machine stopped"
    known = [f for f in facts if f.silent_since is None]
    if not stopped and not known:
        return  # gone silent: nobody knows that it is cold again
    if deviation.facts.cause == "store warm" and any(f.outside_since or f.unsettled_since for f in known):
        return  # not clearly back, too cold now, or warm again within its grace
    spells = [f.spell for f in known if f.spell is not None and f.spell.since >= deviation.asked_since]
    until = max((s.until for s in spells), default=book.now) if not stopped else book.now
    warmest = max((s.worst_c for s in spells), default=None)
    core = _core(place, deviation, until, warmest)
    book.add(PlaceRecovered(deviation=deviation.id, at=until, warmest_c=warmest, core_at_most_c=core))


def _core(place: Equipment, deviation: Deviation, until: datetime, warmest: float | None) -> float | None:
    if place.holds is None or warmest is None:
        return None
    start = max(place.holds.high, deviation.core_at_most_c or place.holds.high)
    return core_at_most(start, warmest, (until - deviation.asked_since).total_seconds() / 60)


def _softened(book: _Book) -> None:
    """Food that was measured softer or warmer than it may be goes on hold: a cold freezer does not mend it."""
    assert book.state.kitchen is not None
    for deviation, place, lot, task in _asked(book):
        reading = measured(book.state, deviation, lot)
        good = still_good_c(book.state.kitchen, place)
        stay = task is None or task.kind is TaskKind.STAY
        if reading is None or good is None or not stay or reading[1] <= good or held(book.state, lot):
            continue
        if settled(book.state, deviation, lot):
            continue
        reason = f"{reading[1]:.1f} °C by hand after {deviation.facts.reason}; at most {good:g} °C was asked"
        event = LotHeld(lot=lot, at=book.now, reason=reason, task=task.id if task is not None else None)
        book.add(event)
        made = tuple(m for m in _made(book, event) if m not in deviation.lots)
        if made:
            book.add(DeviationSpread(deviation=deviation.id, at=book.now, lots=made))


def _asked(book: _Book) -> Iterator[tuple[Deviation, Equipment, LotCode, PlannedTask | None]]:
    """Lots of places that failed, each with the task that keeps it; none for an ingredient on hand."""
    failed = tuple(places_failed(book.state))
    if not failed:
        return
    assert book.state.kitchen is not None
    here = {task.lot: task for tasks in inside(book.state).values() for task in tasks}
    for deviation in failed:
        place = kitchen_index(book.state.kitchen).equipment.get(deviation.facts.equipment or EquipmentId(""))
        for lot in deviation.lots:
            on_books = SupplyLotId(lot) in book.state.pantry.lots
            if place is not None and (lot in here or on_books):
                yield deviation, place, lot, here.get(lot)
