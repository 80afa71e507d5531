"""The date mark of every lot: since which day it counts, when it was frozen, and what the limit of days says by now.

Counted is the oldest of what went into a lot, with the days that it was frozen by itself and, since, in what it went
into. Only food that must be kept cold is counted: a lot whose own steps, or whose components' steps, are kept cold by
a limit.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from orchestrator.core.date_marking import days_used, judge_days, last_day
from orchestrator.core.deviations.opening import DATE_MARKING, DAYS_SAYS
from orchestrator.core.deviations.places import FROZEN_C
from orchestrator.core.ids import EquipmentId, LotCode, RecipeId
from orchestrator.core.left_overs_in import left_overs_in
from orchestrator.core.models import Kitchen, PlannedTask, Recipe, Step, TaskKind
from orchestrator.core.models.limit import Limit, LimitKind
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.plan_index import KitchenIndex, kitchen_index, plan_index
from orchestrator.core.progress import status_of
from orchestrator.core.state import LotStatus, State, TaskStatus

_MOVED = timedelta(hours=1)
"""Carried from one freezer to another it is out for less than this."""
Spans = tuple[tuple[datetime, datetime | None], ...]


@dataclass(frozen=True, slots=True)
class Mark:
    """What counts for a lot."""

    lot: LotCode
    oldest: LotCode
    """Whose day counts: its own, or that of the oldest of what went into it."""
    made: datetime
    frozen: Spans
    verdict: LimitVerdict
    day: int
    """Of how many days today is one; counted while it was not frozen."""
    days: int
    """That are allowed."""
    last: date | None
    """The last day on which it may be used; none while it is frozen: it waits."""


def mark_of(state: State, lot: LotCode, now: datetime, *, out_at: datetime | None = None) -> Mark | None:
    """The date mark of a lot by now.

    Args:
        state: What has happened.
        lot: Whose.
        now: The instant asked for.
        out_at: Of what was taken out of it then: frozen until then at most, whatever the rest still is.

    Returns:
        None where nothing of it is made, it need not be kept cold, or the kitchen has no limit of days.

    Source: FDA Food Code 2022, 3-501.17, unless the kitchen's own code replaces it; see `date_marking`.
    """
    limit = None if state.kitchen is None else state.kitchen.limit(DATE_MARKING)
    if state.kitchen is None or limit is None or limit.kind is not LimitKind.DAYS:
        return None
    zone = ZoneInfo(state.kitchen.time_zone)
    found = _counting(state, lot, frozenset())
    if out_at is not None:
        found = (replace(since, frozen=tuple(_before(since.frozen, out_at))) for since in found)
    counted = [_mark(limit, lot, since, now, zone) for since in found]
    return max(counted, key=lambda mark: (mark.day, -mark.made.timestamp()), default=None)


@dataclass(frozen=True, slots=True)
class _Since:
    lot: LotCode
    made: datetime
    frozen: Spans


def _mark(limit: Limit, lot: LotCode, since: _Since, now: datetime, zone: ZoneInfo) -> Mark:
    days = limit.rows[0].days or 0
    return Mark(
        lot=lot,
        oldest=since.lot,
        made=since.made,
        frozen=since.frozen,
        verdict=judge_days(limit, since.made, since.frozen, now, zone),
        day=days_used(since.made, since.frozen, now, zone),
        days=days,
        last=last_day(since.made, since.frozen, days, now, zone),
    )


def _counting(state: State, lot: LotCode, above: frozenset[LotCode]) -> Iterator[_Since]:
    assert state.kitchen is not None
    known = kitchen_index(state.kitchen)
    recipe = _recipe(state, known, lot)
    begun = _begun(state, known, lot)
    if recipe is None or begun is None or lot in above or not _kept_cold(known, recipe, frozenset()):
        return
    own = _frozen(state, known, lot)
    yield _Since(lot, begun, own)
    for left in left_overs_in(state):
        # Cooked again by a limit it is prepared anew, and what was cooked counts by itself.
        if left.cooked_in is None and left.task.partition(".")[0] == lot:
            yield _Since(left.lot, left.made, tuple(_from(own, left.at)))
    for task, taking in state.takings.items():
        if taking.into != lot:
            continue
        # Out of the freezer from the step that took it; from there on it is kept as what it went into.
        out_at = taking.at or state.record(task).started_at or begun
        for part in taking.lots:
            for since in _counting(state, part, above | {lot}):
                yield _Since(since.lot, since.made, (*_before(since.frozen, out_at), *_from(own, out_at)))


def _before(spans: Spans, at: datetime) -> Iterator[tuple[datetime, datetime]]:
    for since, until in spans:
        ends = at if until is None else min(until, at)
        if ends > since:
            yield since, ends


def _from(spans: Spans, at: datetime) -> Iterator[tuple[datetime, datetime | None]]:
    for since, until in spans:
        if until is None or until > at:
            yield max(since, at), until


def _recipe(state: State, known: KitchenIndex, lot: LotCode) -> Recipe | None:
    stock = known.stock.get(lot)
    batch = plan_index(state.plan).batches.get(lot) if state.plan is not None and stock is None else None
    source = stock or batch
    return known.recipes.get(source.recipe) if source is not None else None


def _begun(state: State, known: KitchenIndex, lot: LotCode) -> datetime | None:
    """The day it was made, to be on the safe side the instant at which its first work began."""
    stock = known.stock.get(lot)
    if stock is not None:
        return stock.made
    starts = [
        record.started_at
        for task in _tasks(state, lot)
        if task.kind is TaskKind.WORK and (record := state.record(task.id)).started_at is not None
    ]
    return min((start for start in starts if start is not None), default=None)


def _tasks(state: State, lot: LotCode) -> Sequence[PlannedTask]:
    if state.plan is None:
        return ()
    index = plan_index(state.plan)
    return [index.tasks[task] for task in index.lot_tasks.get(lot, ())]


def _frozen(state: State, known: KitchenIndex, lot: LotCode) -> Spans:
    """From when to when it was in freezers; the last open while any of it still is there: what is taken out is counted
    on where it goes into. Moved from one freezer to the next it was in one; thawed between them it was in two."""
    stock = known.stock.get(lot)
    stays = [task for task in _tasks(state, lot) if task.kind is TaskKind.STAY and _freezer(state, known, task)]
    begun = [task for task in stays if status_of(state, task) is not TaskStatus.WAITING]
    if not begun:
        return ((stock.made, None),) if stock is not None and not stays and _cold_place(known, stock.place) else ()
    spans: list[tuple[datetime, datetime | None]] = []
    for since, until in sorted((_span(state, task) for task in begun), key=lambda span: span[0]):
        if spans and (spans[-1][1] is None or since - spans[-1][1] <= _MOVED):
            last = None if until is None or spans[-1][1] is None else max(until, spans[-1][1])
            spans[-1] = (spans[-1][0], last)
        else:
            spans.append((since, until))
    if stock is not None:
        spans[0] = (stock.made, spans[0][1])
    return tuple(spans)


def _span(state: State, stay: PlannedTask) -> tuple[datetime, datetime | None]:
    record = state.record(stay.id)
    over = status_of(state, stay) is not TaskStatus.IN_HAND
    return record.started_at or stay.start, record.finished_at if over else None


def _freezer(state: State, known: KitchenIndex, task: PlannedTask) -> bool:
    return _cold_place(known, state.record(task.id).equipment or task.equipment)


def _cold_place(known: KitchenIndex, place: EquipmentId | None) -> bool:
    found = known.equipment.get(place) if place is not None else None
    return found is not None and found.holds is not None and found.holds.high < FROZEN_C


def _kept_cold(known: KitchenIndex, recipe: Recipe, above: frozenset[RecipeId]) -> bool:
    if recipe.id in above:
        return False
    if any(_cold_limit(known.kitchen, step) for step in recipe.steps):
        return True
    parts = (take.component for step in recipe.steps for take in step.takes if take.component is not None)
    found = (known.recipes.get(part) for part in parts)
    return any(part is not None and _kept_cold(known, part, above | {recipe.id}) for part in found)


def _cold_limit(kitchen: Kitchen, step: Step) -> bool:
    limit = kitchen.limit(step.limit.id) if step.limit is not None else None
    if limit is None or limit.kind is not LimitKind.KEEP:
        return False
    most = limit.rows[0].at_most
    return most is not None and most.celsius > FROZEN_C


def over(state: State, lot: LotCode, now: datetime, *, out_at: datetime | None = None) -> Mark | None:
    """The mark of a lot that is past its days, unless somebody has decided about it since they ended; see `mark_of`."""
    mark = mark_of(state, lot, now, out_at=out_at)
    if mark is None or mark.verdict.status != "broken":
        return None
    record, ended = state.lots.get(lot), mark.verdict.at
    decided = record is not None and record.status is LotStatus.FREE and ended is not None and record.since >= ended
    return None if decided else mark


def says(mark: Mark) -> str:
    """That a lot is past its days, in words."""
    of = "" if mark.oldest == mark.lot else f", counted from {mark.oldest} in it"
    return f"{DAYS_SAYS}: day {mark.day} of {mark.days} by {mark.verdict.applied}{of}"


def lots_here(state: State) -> Iterator[LotCode]:
    """Lots of which something has been made, or that were on hand, and that are not gone."""
    if state.kitchen is None or state.plan is None:
        return
    gone = {lot for lot, record in state.lots.items() if record.status in (LotStatus.DISCARDED, LotStatus.REWORK)}
    stock = (lot.lot for lot in state.kitchen.stock)
    for lot in dict.fromkeys((*stock, *(batch.lot for batch in state.plan.batches))):
        if lot not in gone and _still_there(state, lot):
            yield lot


def _still_there(state: State, lot: LotCode) -> bool:
    return any(status_of(state, task) is TaskStatus.IN_HAND for task in _tasks(state, lot))


def next_day(state: State, now: datetime) -> datetime | None:
    """The next midnight of the kitchen's calendar, at which a day counts; none where nothing there is counted."""
    limit = None if state.kitchen is None else state.kitchen.limit(DATE_MARKING)
    if state.kitchen is None or limit is None or next(lots_here(state), None) is None:
        return None
    here = state.kitchen.local(now)
    after = here.date() + timedelta(days=1)
    return datetime(after.year, after.month, after.day, tzinfo=here.tzinfo).astimezone(UTC)
