"""Further lists as CSV, of what was: stops of machines and places, trials of recipes, hand-over notes, refused acts."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Final

from display import review_words
from display.batch_record import entries
from display.log_reading import whole_log
from display.panels import Showing
from display.papers.listed import Listed
from orchestrator.core.draft_book import DraftRecord, TrialRecord
from orchestrator.core.events import MachineReturned, MachineStopped, Recorded
from orchestrator.core.handover_events import ShiftHandedOver, ShiftTakenOver
from orchestrator.core.ids import EquipmentId, LotCode
from orchestrator.core.lot_events import RecordLookedThrough
from orchestrator.core.models import Equipment
from orchestrator.core.models.handover import HandoverNote, NoteLine
from orchestrator.core.quantities import Quantity
from orchestrator.core.record_review import Review
from orchestrator.ports.access import RefusedAct

MOST_REFUSED: Final = 100_000
"""So many refused acts are written at most, the newest; 600 an hour are kept at most, see `access.notes`."""


REVIEW_COLUMNS: Final = ("unseen_since", "look_through_by", "working_days_waited", "working_days_left")


def review_cells(review: Review | None) -> tuple[object, ...]:
    """Since when a record waits to be looked through, and until when; nothing where nobody has to."""
    return (None,) * 4 if review is None else (review.since, review.by, review.waited, review.left)


def _both(quantity: Quantity | None) -> tuple[float | None, str | None]:
    return (None, None) if quantity is None else (quantity.value, str(quantity.unit))


def machines(showing: Showing, _: str) -> Listed:
    """A row for each stop of each machine and place: over, standing, told for later or planned; one row without any.

    A stop that was told anew (until another time) is a row for each time it was told.
    """
    columns = (
        "machine", "name", "kind", "station", "floor", "store", "capacity", "unit", "low_celsius", "high_celsius",
        "stop", "start", "until", "reason", "person", "back_at", "back_by", "recorded_at",
    )  # fmt: skip
    past = _stops(whole_log(showing.gateway))
    rows: list[tuple[object, ...]] = []
    for machine in showing.kitchen.equipment:
        stops = [*past.get(machine.id, ()), *_ahead(showing, machine)]
        rows += [(*_machine(machine), *stop) for stop in stops] or [(*_machine(machine), *[None] * 8)]
    return Listed(columns, rows)


def _machine(one: Equipment) -> tuple[object, ...]:
    band = (one.holds.low, one.holds.high) if one.holds is not None else (None, None)
    return (one.id, one.name, one.kind, one.station, str(one.floor), one.store, *_both(one.capacity), *band)


def _stops(log: Iterable[Recorded]) -> dict[EquipmentId, list[tuple[object, ...]]]:
    """Stops that have begun, in the order in which they were told."""
    found: dict[EquipmentId, list[tuple[object, ...]]] = {}
    open_ones: dict[EquipmentId, tuple[MachineStopped, datetime]] = {}

    def ended(machine: EquipmentId, how: str, back: MachineReturned | None) -> None:
        if (stop := open_ones.pop(machine, None)) is not None:
            told, recorded_at = stop
            when = (back.at, back.person) if back is not None else (None, None)
            row = (how, told.at, told.until, told.reason, told.person, *when, recorded_at)
            found.setdefault(machine, []).append(row)

    for record in log:
        event = record.event
        if isinstance(event, MachineStopped):
            ended(event.equipment, "told anew", None)
            open_ones[event.equipment] = (event, record.at)
        elif isinstance(event, MachineReturned):
            ended(event.equipment, "over", event)
    for machine in list(open_ones):
        ended(machine, "stands", None)
    return found


def _ahead(showing: Showing, machine: Equipment) -> Iterator[tuple[object, ...]]:
    for stop in showing.snapshot.state.by_hand.stops:
        if stop.equipment == machine.id:
            yield ("later", stop.start, stop.end, stop.reason, stop.by, None, None, None)
    for one in machine.maintenance:
        yield ("planned", one.start, one.end, one.why, None, None, None, None)


def looked_through(showing: Showing, _: str) -> Listed:
    """A row for each time that somebody looked a lot's record through; one for a lot with a record that nobody did."""
    columns = (
        "lot", "last_entry_at", "looked_through_at", "person", "remark", "changed_after", "recorded_at",
        *REVIEW_COLUMNS,
    )  # fmt: skip
    waiting = review_words.of(showing)
    log = list(whole_log(showing.gateway))
    rows: list[tuple[object, ...]] = []
    through: dict[LotCode, list[tuple[RecordLookedThrough, datetime]]] = {}
    for record in log:
        if isinstance(record.event, RecordLookedThrough):
            through.setdefault(record.event.lot, []).append((record.event, record.at))
    entered = entries(showing.snapshot.state, log)
    for lot in sorted({*entered, *through}):
        mine = entered.get(lot, [])
        last = max((at for _, at in mine), default=None)
        due = review_cells(waiting.get(lot))
        rows += [
            (lot, last, one.at, one.person, one.note, any(seq > one.upto for seq, _ in mine), recorded_at, *due)
            for one, recorded_at in through.get(lot, ())
        ] or [(lot, last, *[None] * 5, *due)]
    return Listed(columns, rows)


def trials(showing: Showing, _: str) -> Listed:
    """A row for each thing that went into each trial of each draft, at the size that was made."""
    columns = (
        "draft", "recipe", "name", "of", "trial", "made_at", "entered_at", "person", "factor", "brix", "weight_kg",
        "notes", "became_revision", "put_away", "step", "title", "ingredient", "component", "asked", "asked_unit",
        "used", "used_unit",
    )  # fmt: skip
    drafts = showing.snapshot.state.drafts.drafts
    rows = [row for _, draft in sorted(drafts.items()) for trial in draft.trials for row in _trial(draft, trial)]
    return Listed(columns, rows)


def _trial(draft: DraftRecord, record: TrialRecord) -> Iterator[Sequence[object]]:
    told = record.trial
    became = [one.revision for one in draft.approvals if one.trial == record.number]
    head = (
        draft.number, record.recipe.id, record.recipe.name, draft.of, record.number, told.made, record.at, record.by,
        told.factor, told.brix, told.weight_kg, told.notes, became, draft.away,
    )  # fmt: skip
    really = {(one.step, one.line): one.amount for one in told.used}
    for step in record.recipe.steps:
        for line, take in enumerate(step.takes):
            asked = take.amount.times(told.factor)
            used = really.get((step.id, line), asked)
            which = (step.id, step.title, take.ingredient, take.component)
            yield (*head, *which, *_both(asked), *_both(used))


def handovers(showing: Showing, _: str) -> Listed:
    """A row for each line of each hand-over note on record, and one for the note itself with words of its writer."""
    columns = (
        "handover", "handed_over_at", "handed_over_by", "taken_over_at", "taken_over_by", "since", "until", "part",
        "what", "thing", "where", "at", "who", "says",
    )  # fmt: skip
    notes: dict[int, ShiftHandedOver] = {}
    taken: dict[int, ShiftTakenOver] = {}
    for record in whole_log(showing.gateway):
        if isinstance(record.event, ShiftHandedOver):
            notes[record.seq] = record.event
        elif isinstance(record.event, ShiftTakenOver):
            taken.setdefault(record.event.handover, record.event)
    rows: list[Sequence[object]] = []
    for number, one in notes.items():
        by = taken.get(number)
        head = (number, one.at, one.person, by and by.at, by and by.person, one.note.since, one.note.until)
        rows.append((*head, "note", None, None, None, None, (), one.text))
        rows += [(*head, *line) for line in _lines(showing, one.note)]
    return Listed(columns, rows)


def _lines(showing: Showing, note: HandoverNote) -> Iterator[Sequence[object]]:
    parts: dict[str, tuple[NoteLine, ...]] = {
        "done": note.done, "left out": note.left_out, "in hand": note.in_hand, "held": note.held,
        "stopped": note.stopped, "deviation": note.deviations, "coming": note.coming,
    }  # fmt: skip
    for part, lines in parts.items():
        for line in lines:
            yield (part, line.what, line.thing, line.where, line.at, line.who, line.reason)
    for facts in note.alarms:
        says = showing.sentences.alarm_head(facts)
        yield ("alarm", str(facts.kind), facts.lot or facts.task, facts.equipment, None, (), says)


def refused(acts: Iterable[RefusedAct]) -> Listed:
    """A row for each refused act, the newest first; the same ones of a minute are one, with how often."""
    columns = ("at", "source", "who", "what", "why", "times")
    return Listed(columns, [(one.at, one.source, one.who, one.what, one.reason, one.count) for one in acts])
