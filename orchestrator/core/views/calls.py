"""Who is called beyond the kitchen, whether it would reach them, and what stands in the cold when nobody is there."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from pydantic import AwareDatetime

from orchestrator.core.alarms import Look, look
from orchestrator.core.calls import Wish, calls_anybody, wishes
from orchestrator.core.ids import AlarmId, CalleeId, EquipmentId, LotCode
from orchestrator.core.models import Equipment, Kitchen, Model, PlannedTask
from orchestrator.core.models.calls import (
    Call,
    CallChannel,
    Callee,
    CallFault,
    CallPlan,
    CallStatus,
    CallWhy,
    ChannelState,
)
from orchestrator.core.presence import night_at
from orchestrator.core.state import Facts, State, TaskStatus

SAID_BEFORE: Final = timedelta(hours=1)
"""So long before the last leave it is said that nobody would be called."""
TRUSTED_FOR: Final = timedelta(days=30)
"""So long a channel that reached somebody counts as one that does; a figure of ours."""


class Reach(StrEnum):
    """Whether a channel would reach somebody, by what is known of it."""

    REACHED = "reached"
    UNTRIED = "untried"
    """Never, or too long ago."""
    FAILED = "failed"
    UNSET = "unset"
    """Nothing stands under its name."""


class ChannelView(Model):
    """One way to reach somebody."""

    name: str
    reach: Reach
    reached_at: AwareDatetime | None = None
    failed_at: AwareDatetime | None = None
    fault: CallFault | None = None
    code: int | None = None
    secret: str = ""
    """Name under which its address is looked for, where none was found."""


class CalleeView(Model):
    """Somebody who is called, in their place on the list."""

    id: CalleeId
    number: int
    """From 1."""
    reach: Reach
    """Of the best channel."""
    channels: tuple[ChannelView, ...]
    quiet: tuple[str, ...] = ()
    """``22:00–06:00``, on the kitchen's clock."""
    quiet_until: AwareDatetime | None = None
    """When the quiet hours of now are over."""
    tested: Call | None = None
    """The latest test call that is kept."""


class TurnView(Model):
    """Whose turn comes next about an alarm, if nobody marks it as seen before."""

    alarm: AlarmId
    to: CalleeId
    at: AwareDatetime
    held_back: bool
    """It waits for the end of quiet hours."""


class StandsView(Model):
    """What is in a machine or store while nobody is there."""

    equipment: EquipmentId
    name: str
    lots: tuple[LotCode, ...]
    litres: float


class Verdict(StrEnum):
    """Whether somebody would be called."""

    SOMEBODY = "somebody"
    UNSURE = "unsure"
    """There are people, and no channel is known to reach any of them."""
    NOBODY = "nobody"


class TonightView(Model):
    """The time without anybody in the kitchen that is, or comes next."""

    verdict: Verdict
    empty_list: bool
    """Nobody is on the list at all."""
    say: bool
    """Whether the screens say so by themselves: it is no certainty, and the last leave within the hour, or have; or
    somebody could not be reached about what still stands."""
    start: AwareDatetime | None
    end: AwareDatetime | None
    reached: tuple[CalleeId, ...] = ()
    """Whom a call would reach, in order."""
    others_quiet_until: AwareDatetime | None = None
    """Until then nothing but what is critical reaches anybody of those."""
    stands: tuple[StandsView, ...] = ()
    unreached: tuple[Call, ...] = ()
    """Calls that reached nobody, about alarms that nobody has seen since."""


class CallsView(Model):
    """The list, the calls of late, and what comes next."""

    plan: CallPlan
    people: tuple[CalleeView, ...]
    tonight: TonightView
    turns: tuple[TurnView, ...]
    calls: tuple[Call, ...]
    """The newest first."""


def calls_view(state: State, facts: Facts, now: datetime) -> CallsView:
    """All about calls. Raises: KeyError before there is a kitchen."""
    kitchen = _kitchen(state)
    return CallsView(
        plan=kitchen.calls,
        people=_people(state, kitchen, now),
        tonight=tonight_view(state, facts, now),
        turns=tuple(_turn(wish) for wish in wishes(state, now)),
        calls=state.calls.calls[::-1],
    )


def tonight_view(state: State, facts: Facts, now: datetime) -> TonightView:
    """Who would be called while nobody is there, and what stands in the cold. Raises: KeyError without a kitchen."""
    kitchen = _kitchen(state)
    night, people = night_at(kitchen, now), _people(state, kitchen, now)
    reached = tuple(one for one in people if one.reach is Reach.REACHED)
    unsure = any(one.reach is Reach.UNTRIED for one in people)
    verdict = Verdict.SOMEBODY if reached else Verdict.UNSURE if unsure else Verdict.NOBODY
    begins = max(night.start, now) if night.start is not None else now
    said = night.start is None or night.start - SAID_BEFORE <= now
    unreached = _unreached(state, kitchen)
    return TonightView(
        verdict=verdict,
        empty_list=not people,
        say=bool(unreached) or (verdict is not Verdict.SOMEBODY and said and now < kitchen.planned_until),
        start=night.start,
        end=night.end,
        reached=tuple(one.id for one in reached),
        others_quiet_until=_all_quiet(kitchen, reached, begins),
        stands=_stands(state, facts, now, begins),
        unreached=unreached,
    )


def _kitchen(state: State) -> Kitchen:
    if state.kitchen is None:
        raise KeyError("kitchen")
    return state.kitchen


def _turn(wish: Wish) -> TurnView:
    return TurnView(alarm=wish.alarm.id, to=wish.to, at=wish.at, held_back=wish.why is CallWhy.HELD_BACK)


def _people(state: State, kitchen: Kitchen, now: datetime) -> tuple[CalleeView, ...]:
    return tuple(_callee(state, kitchen, one, number, now) for number, one in enumerate(kitchen.calls.people, 1))


def _callee(state: State, kitchen: Kitchen, one: Callee, number: int, now: datetime) -> CalleeView:
    channels = tuple(_channel(state, one, channel, now) for channel in one.channels)
    tests = (call for call in reversed(state.calls.calls) if call.to == one.id and call.why is CallWhy.TEST)
    return CalleeView(
        id=one.id,
        number=number,
        reach=min((channel.reach for channel in channels), key=list(Reach).index),
        channels=channels,
        quiet=tuple(f"{hours.start}–{hours.end}" for hours in one.quiet),
        quiet_until=one.quiet_until(kitchen.local(now)),
        tested=next(tests, None),
    )


def _channel(state: State, one: Callee, channel: CallChannel, now: datetime) -> ChannelView:
    unset = channel.secret in state.calls.unset
    known = state.calls.channels.get((one.id, channel.name), ChannelState())
    return ChannelView(
        name=channel.name,
        reach=Reach.UNSET if unset else _reach(known, now),
        reached_at=known.reached_at,
        failed_at=known.failed_at,
        fault=known.fault,
        code=known.code,
        secret=channel.secret if unset else "",
    )


def _reach(known: ChannelState, now: datetime) -> Reach:
    if known.fault is not None:
        return Reach.FAILED
    fresh = known.reached_at is not None and now - known.reached_at <= TRUSTED_FOR
    return Reach.REACHED if fresh else Reach.UNTRIED


def _unreached(state: State, kitchen: Kitchen) -> tuple[Call, ...]:
    """The latest call to each person, where it reached nobody and is still about something unseen."""
    latest = {call.to: call for call in state.calls.calls if call.why is not CallWhy.TEST}
    return tuple(
        call
        for call in latest.values()
        if call.status is CallStatus.GAVE_UP
        and not any(one.fault in {CallFault.PRACTICE, CallFault.OVER} for one in call.faults)
        and any(calls_anybody(state.alarms[a], kitchen.calls) for a in call.alarms if a in state.alarms)
    )


def _all_quiet(kitchen: Kitchen, reached: tuple[CalleeView, ...], at: datetime) -> datetime | None:
    """Until when all of them have quiet hours, from an instant on; none if one of them has none then."""
    known = [callee for one in reached if (callee := kitchen.calls.callee(one.id)) is not None]
    ends = [callee.quiet_until(kitchen.local(at)) for callee in known]
    told = [end for end in ends if end is not None]
    return min(told) if told and len(told) == len(ends) else None


def _stands(state: State, facts: Facts, now: datetime, at: datetime) -> tuple[StandsView, ...]:
    """Food in stores, and work that runs on its own, at an instant; by place, in the kitchen's order."""
    seen = look(state, facts, now, advise=False)
    if seen is None:
        return ()
    found: dict[EquipmentId, dict[LotCode, float]] = {}
    for task in seen.plan.tasks.values():
        machine = seen.machine(task)
        if machine is None or task.lot is None or seen.gone(task.lot) or not _there(seen, task, at):
            continue
        lots = found.setdefault(machine.id, {})
        lots[task.lot] = lots.get(task.lot, 0.0) + task.load
    places = (place for place in seen.kitchen.equipment.values() if place.id in found)
    return tuple(_standing(place, found[place.id]) for place in places)


def _standing(place: Equipment, lots: Mapping[LotCode, float]) -> StandsView:
    return StandsView(equipment=place.id, name=place.name, lots=tuple(lots), litres=round(sum(lots.values()), 2))


def _there(seen: Look, task: PlannedTask, at: datetime) -> bool:
    """Whether something is under way at an instant, as far as the live plan knows."""
    if seen.status(task) in {TaskStatus.DONE, TaskStatus.SKIPPED}:
        return False
    live = seen.live[task.id]
    return live.start <= at < live.end
