"""What calls, their outcomes and the alarms they are about change in the book of calls."""

from dataclasses import replace
from datetime import timedelta
from typing import assert_never

from orchestrator.core.call_book import KEPT, CallBook, Turn
from orchestrator.core.call_events import (
    CallAbout,
    CallDelivered,
    CallEvent,
    CallFailed,
    CallGaveUp,
    CallMade,
    CallPlanTaken,
    ChannelsChecked,
)
from orchestrator.core.events import (
    AlarmAcknowledged,
    AlarmEscalated,
    AlarmRaised,
    AlarmReturned,
    AlarmShelved,
    AlarmUnshelved,
    Recorded,
)
from orchestrator.core.evolve.alarms import AlarmEvent
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import AlarmFacts, Priority
from orchestrator.core.models.calls import Call, CallFault, CallStatus, CallWhy, ChannelState
from orchestrator.core.state import State

_SAYS_NOTHING = {CallFault.PRACTICE, CallFault.OVER}
"""Faults that are none of the channel."""


def apply(state: State, recorded: Recorded, event: CallEvent) -> State:
    """A call plan is taken over, channels are looked at, a call is made or ends."""
    book = state.calls
    match event:
        case CallPlanTaken():
            if state.kitchen is None:
                return state  # decide sees to it
            return replace(state, kitchen=state.kitchen.model_copy(update={"calls": event.plan}))
        case ChannelsChecked():
            return replace(state, calls=replace(book, unset=frozenset(event.unset)))
        case CallMade():
            return replace(state, calls=_made(book, recorded.seq, event))
        case CallDelivered() | CallFailed() | CallGaveUp():
            call = book.call(event.call)
            return state if call is None else replace(state, calls=_told(book, call, event))
        case _:
            assert_never(event)


def _made(book: CallBook, seq: int, event: CallMade) -> CallBook:
    whys = [about.why for about in event.about] or [CallWhy.TEST]
    call = Call(
        seq=seq,
        to=event.to,
        why=min(whys, key=list(CallWhy).index),
        alarms=tuple(about.alarm for about in event.about),
        titles=tuple(about.title for about in event.about),
        made_at=event.at,
        person=event.person,
    )
    turns = dict(book.turns)
    for about in event.about:
        turns[about.alarm] = _turn(turns.get(about.alarm), seq, event, about)
    old = book.calls[: -(KEPT - 1)]
    kept = tuple(one for one in old if one.status is CallStatus.MADE) + book.calls[-(KEPT - 1) :]
    return replace(book, calls=(*kept, call), turns=turns)


def _turn(turn: Turn | None, seq: int, event: CallMade, about: CallAbout) -> Turn:
    held = ((turn.held if turn is not None else frozenset()) | set(about.passed)) - {event.to}
    if turn is not None and about.why is CallWhy.HELD_BACK:
        return replace(turn, held=held)  # told late; whose turn it is goes its own way
    return Turn(last=event.to, call=seq, at=event.at, held=held)


def _told(book: CallBook, call: Call, event: CallDelivered | CallFailed | CallGaveUp) -> CallBook:
    channels = dict(book.channels)
    reached = event.reached if isinstance(event, CallDelivered) else ()
    for name in reached:
        channels[call.to, name] = ChannelState(reached_at=event.at)
    for one in event.faults:
        if one.fault not in _SAYS_NOTHING:
            before = channels.get((call.to, one.channel), ChannelState())
            known = {"failed_at": event.at, "fault": one.fault, "code": one.code}
            channels[call.to, one.channel] = before.model_copy(update=known)
    changes: dict[str, object] = {"faults": event.faults or call.faults}
    match event:
        case CallFailed():
            changes |= {"attempts": call.attempts + 1}
        case CallDelivered():
            changes |= {
                "status": CallStatus.DELIVERED,
                "ended_at": event.at,
                "reached": reached,
                "faults": event.faults,
            }
        case CallGaveUp():
            changes |= {"status": CallStatus.GAVE_UP, "ended_at": event.at}
    after = call.model_copy(update=changes)
    return replace(book, calls=tuple(after if one.seq == call.seq else one for one in book.calls), channels=channels)


def after_alarm(before: State, after: State, event: AlarmEvent) -> State:
    """Seen, shelved or gone, an alarm calls nobody; worse, it calls from the first person on.

    One that returns and is raised again within the interval after which a round begins again goes on where it was: a
    probe that wavers about its limit must not call the same person each time.
    """
    turn = before.calls.turns.get(event.alarm)
    if turn is None:
        return after
    known = before.alarms.get(event.alarm)
    match event:
        case AlarmAcknowledged() | AlarmShelved() | AlarmUnshelved():
            ends = True
        case AlarmReturned():
            ends = event.alarm not in after.alarms
        case AlarmEscalated():
            ends = known is None or _worse_in_kind(known.facts, event.facts)
        case AlarmRaised():
            again = before.kitchen.calls.again_after if before.kitchen is not None else 0
            ends = event.at - turn.at >= timedelta(minutes=again)
    return replace(after, calls=_without(after.calls, event.alarm)) if ends else after


def _worse_in_kind(before: AlarmFacts, after: AlarmFacts) -> bool:
    """Missed now, or of a higher priority: one order more alone calls nobody anew."""
    ranks = list(Priority)
    return (after.missed and not before.missed) or ranks.index(after.priority) < ranks.index(before.priority)


def _without(book: CallBook, alarm: AlarmId) -> CallBook:
    return replace(book, turns={key: turn for key, turn in book.turns.items() if key != alarm})
