"""What changes by hand do to the kitchen: the same functions carry them out that carry out what is only tried."""

from dataclasses import replace
from datetime import datetime

from orchestrator.core.changes import carried_out
from orchestrator.core.events import Recorded
from orchestrator.core.ids import EquipmentId, RecipeId, StationId
from orchestrator.core.kitchen_book import MOST_ENTRIES, Allowance, Count, Entry, KitchenBook, LaterStop, shrunk_between
from orchestrator.core.kitchen_events import IngredientsTaken, KitchenChanged
from orchestrator.core.models import AllowedBreak, Kitchen, PlanRequest, Stop
from orchestrator.core.models.change import CloseCounter
from orchestrator.core.state import State


def ingredients_taken(state: State, event: IngredientsTaken) -> State:
    """Mixes are worked out with other rows from now on."""
    if state.kitchen is None:
        return state
    taken = {"ingredients": event.ingredients, "currency": event.currency}
    return replace(state, kitchen=state.kitchen.model_copy(update=taken))


def apply(state: State, recorded: Recorded, event: KitchenChanged) -> State:
    """The kitchen as it is after the changes; the next plan is made for it."""
    before, book = state.kitchen, state.by_hand
    if before is None:
        return state
    request = PlanRequest(
        kitchen=before, now=event.at, previous=state.plan, stops=book.told_stops(), allowed=book.allowed()
    )
    after = carried_out(request, event.changes)
    told = replace(
        book,
        changes=book.changes + 1,
        stops=tuple(_stop(book, stop, event) for stop in after.stops),
        allowances=tuple(_allowance(book, allowed, event) for allowed in after.allowed),
        shrunk=book.shrunk | shrunk_between(before, after.kitchen),
        counts={**book.counts, **_counts(event)},
        entries=(*book.entries, _entry(recorded, event, before, after.kitchen))[-MOST_ENTRIES:],
    )
    drafts = state.drafts
    for change in event.changes:
        drafts = drafts.approved(change, event.at, event.person)
    return replace(state, kitchen=after.kitchen, by_hand=told, drafts=drafts)


def _stop(book: KitchenBook, stop: Stop, event: KitchenChanged) -> LaterStop:
    """The stop that was told before, or one that this event told."""
    same = (s for s in book.stops if (s.equipment, s.start) == (stop.equipment, stop.start))
    known = next(same, None)
    if known is not None:
        return replace(known, end=stop.end)
    return LaterStop(stop.equipment, stop.start, stop.end, event.reason, event.person)


def _allowance(book: KitchenBook, allowed: AllowedBreak, event: KitchenChanged) -> Allowance:
    known = next((one for one in book.allowances if one.allowed == allowed), None)
    return known or Allowance(allowed, event.reason, event.person, event.at)


def _counts(event: KitchenChanged) -> dict[tuple[StationId, RecipeId], Count]:
    closed = (change for change in event.changes if isinstance(change, CloseCounter))
    return {
        (change.station, one.product): Count(one.quantity, event.at, event.person)
        for change in closed
        for one in change.counts
    }


def _entry(recorded: Recorded, event: KitchenChanged, before: Kitchen, after: Kitchen) -> Entry:
    left = {order.id for order in after.orders}
    dropped = tuple(order for order in before.orders if order.id not in left)
    says = tuple(change.says(before) for change in event.changes)
    return Entry(recorded.seq, event.at, event.person, event.reason, says, dropped)


def imported(state: State, kitchen: Kitchen) -> State:
    """A kitchen was taken over; it is kept as its files had it, whatever is changed by hand."""
    return replace(state, kitchen=kitchen, by_hand=replace(state.by_hand, imported=kitchen))


def stop_begun(state: State, machine: EquipmentId, by: datetime) -> State:
    """A stop told for later that has begun is on record as a stop of its own."""
    book = state.by_hand
    later = tuple(stop for stop in book.stops if stop.equipment != machine or stop.start > by)
    return state if later == book.stops else replace(state, by_hand=replace(book, stops=later))


def planned(state: State, *, provisional: bool) -> State:
    """A plan was adopted."""
    if state.kitchen is None:
        return state
    return replace(state, by_hand=state.by_hand.adopted(state.kitchen, provisional=provisional))
