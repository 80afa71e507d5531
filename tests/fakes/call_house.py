"""A kitchen lived through by its calls alone: alarms come and go, calls end as scripted, time jumps to what is due."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, Literal

from orchestrator.core.call_events import CallDelivered, CallGaveUp, CallMade
from orchestrator.core.calls import due_calls, next_call_at
from orchestrator.core.events import (
    AlarmAcknowledged,
    AlarmEscalated,
    AlarmRaised,
    AlarmReturned,
    AlarmShelved,
    AlarmUnshelved,
    Event,
    Recorded,
)
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import AlarmId, CalleeId, CommandId, CrewId
from orchestrator.core.models import Kitchen
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Priority
from orchestrator.core.models.calls import Callee, CallFault, CallPlan, ChannelFault
from orchestrator.core.state import State
from tests.fakes.kitchens import small_kitchen

Outcome = Literal["delivered", "gave_up", "nothing"]


def callee(who: str, *quiet: tuple[str, str]) -> Callee:
    """One of the crew, or with a capital somebody else, reached through one channel."""
    return Callee.model_validate(
        {
            **({"role": who} if who[0].isupper() else {"crew": who}),
            "channels": [{"name": "Phone", "secret": f"CALL_{who.upper().replace('-', '_')}"}],
            "quiet": [{"start": start, "end": end} for start, end in quiet],
        }
    )


def call_plan(*people: Callee, **changes: Any) -> CallPlan:
    """The people in order, with the times of the example."""
    return CallPlan.model_validate({"people": people, **changes})


def kitchen_with(plan: CallPlan, **changes: Any) -> Kitchen:
    """The small kitchen; from 21:00 to 06:00 nobody is there."""
    return small_kitchen(calls=plan, **changes)


def facts(priority: str = "critical", title: str = "Freezer", **changes: Any) -> AlarmFacts:
    """Of a warm store."""
    return AlarmFacts(kind=AlarmKind.STORE_WARM, priority=Priority(priority), title=title, **changes)


@dataclass
class CallHouse:
    """Applies events and lets time pass; keeps what was called when."""

    kitchen: Kitchen
    now: datetime
    outcome: Callable[[CallMade], Outcome] = lambda made: "delivered"
    takes: timedelta = timedelta(seconds=5)
    """Until a call ends."""
    state: State = field(init=False)
    log: list[Recorded] = field(default_factory=list)
    ends: list[tuple[datetime, Event]] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Nothing has happened."""
        self.state = State(kitchen=self.kitchen)

    def record(self, event: Event) -> None:
        """Put an event on record."""
        record = Recorded(seq=self.state.seq + 1, at=self.now, command_id=CommandId(f"c{self.state.seq}"), event=event)
        self.log.append(record)
        self.state = evolve(self.state, record)

    def raised(self, alarm: str, priority: str = "critical") -> None:
        """An alarm is raised."""
        self.record(AlarmRaised(alarm=AlarmId(alarm), at=self.now, facts=facts(priority, alarm)))

    def worse(self, alarm: str, priority: str = "critical", **changes: Any) -> None:
        """It becomes worse."""
        self.record(AlarmEscalated(alarm=AlarmId(alarm), at=self.now, facts=facts(priority, alarm, **changes)))

    def seen(self, alarm: str) -> None:
        """Somebody marks it as seen."""
        self.record(AlarmAcknowledged(alarm=AlarmId(alarm), at=self.now, person=CrewId("early-cook")))

    def over(self, alarm: str) -> None:
        """It is over."""
        self.record(AlarmReturned(alarm=AlarmId(alarm), at=self.now))

    def shelved(self, alarm: str, until: datetime) -> None:
        """Somebody puts it on the shelf."""
        person = CrewId("early-cook")
        self.record(AlarmShelved(alarm=AlarmId(alarm), at=self.now, person=person, until=until, reason="defrost"))

    def unshelved(self, alarm: str) -> None:
        """It comes back from the shelf."""
        self.record(AlarmUnshelved(alarm=AlarmId(alarm), at=self.now, person=None))

    def settle(self) -> None:
        """Everything that is due now is done."""
        for event in [event for at, event in self.ends if at <= self.now]:
            self.record(event)
        self.ends = [end for end in self.ends if end[0] > self.now]
        for made in due_calls(self.state, self.now):
            self.record(made)
            self._begin(made)

    def _begin(self, made: CallMade) -> None:
        seq, at = self.state.seq, self.now + self.takes
        match self.outcome(made):
            case "delivered":
                self.ends.append((at, CallDelivered(call=seq, at=at, reached=("Phone",))))
            case "gave_up":
                fault = ChannelFault(channel="Phone", fault=CallFault.NO_ANSWER)
                self.ends.append((at, CallGaveUp(call=seq, at=at, faults=(fault,))))
            case "nothing":
                pass

    def next_instant(self) -> datetime | None:
        """When something is due next."""
        call_at = next_call_at(self.state, self.now)
        return min([*(at for at, _ in self.ends), *([call_at] if call_at is not None else [])], default=None)

    def live(self, until: datetime) -> None:
        """Let time pass, from one due instant to the next."""
        self.settle()
        while (due := self.next_instant()) is not None and due <= until:
            assert due > self.now, "time stands still"
            self.now = due
            self.settle()
        self.now = until

    def made(self) -> list[CallMade]:
        """All calls, in order."""
        return [record.event for record in self.log if isinstance(record.event, CallMade)]

    def calls(self) -> list[tuple[datetime, CalleeId, tuple[str, ...]]]:
        """All calls: when, to whom, about what."""
        return [(one.at, one.to, tuple(str(about.alarm) for about in one.about)) for one in self.made()]


def replayed(kitchen: Kitchen, log: Iterable[Recorded]) -> State:
    """What a restart knows."""
    state = State(kitchen=kitchen)
    for record in log:
        state = evolve(state, record)
    return state
