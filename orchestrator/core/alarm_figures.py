"""How the alarms do: counts against the standard's guidance, from the log, in bounded memory.

Source of the guidance: ANSI/ISA-18.2 and EEMUA 191, performance metrics for one operator position: about one alarm
in ten minutes on average is very likely acceptable, two are the most that can be managed; more than ten in ten
minutes are a flood, in less than one of a hundred such periods; chattering: three times or more in a minute, none;
stale: standing for more than a day, fewer than five; about 80 : 15 : 5 of low : medium : high priority. All from
memory. They were made for plants with thousands of tags: in a kitchen they say when something is wrong, not that
all is well.
"""

from collections import Counter, deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.events import AlarmAcknowledged, AlarmEscalated, AlarmRaised, AlarmReturned, Recorded
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import Alarm, AlarmFacts, Priority

MOST: Final = 5000
"""So many of the latest of each are kept; more in a week would be one every two minutes."""
TEN: Final = timedelta(minutes=10)
HOUR: Final = timedelta(hours=1)
ACCEPTABLE_IN_TEN: Final = 1.0
MANAGEABLE_IN_TEN: Final = 2.0
FLOOD_IN_TEN: Final = 10
FLOOD_SHARE: Final = 0.01
FLEETING: Final = timedelta(minutes=1)
CHATTER: Final = 3
CHATTER_WITHIN: Final = HOUR
"""The standard says a minute; probes here speak once a minute, so that nothing could chatter by it. Ours."""
STALE: Final = timedelta(days=1)
MOST_STALE: Final = 4
SHARES: Final = {Priority.CRITICAL: 0.05, Priority.WARNING: 0.15, Priority.NOTICE: 0.80}
FREQUENT: Final = 10


@dataclass(frozen=True, slots=True)
class Told:
    """One time at which people were told: of something new, or of something worse."""

    at: datetime
    alarm: AlarmId
    facts: AlarmFacts
    raised: bool


@dataclass(frozen=True, slots=True)
class Lasted:
    """From one raising to its end, or to somebody's having seen it."""

    alarm: AlarmId
    start: datetime
    end: datetime

    @property
    def length(self) -> timedelta:
        """How long."""
        return self.end - self.start


@dataclass(slots=True)
class Tally:
    """Counts events about alarms as the log grows; keeps the latest `MOST` of each kind."""

    told: deque[Told] = field(default_factory=lambda: deque(maxlen=MOST))
    lasted: deque[Lasted] = field(default_factory=lambda: deque(maxlen=MOST))
    seen: deque[Lasted] = field(default_factory=lambda: deque(maxlen=MOST))
    first_at: datetime | None = None
    """Of the first event taken, about alarms or not: from then on nothing is missing."""
    _open: dict[AlarmId, datetime] = field(default_factory=dict)
    _unseen: dict[AlarmId, datetime] = field(default_factory=dict)

    def take(self, records: Iterable[Recorded]) -> None:
        """The next events of the log, in order."""
        for record in records:
            self.first_at = self.first_at or record.at
            match record.event:
                case AlarmRaised(alarm=alarm, at=at, facts=facts):
                    self.told.append(Told(at, alarm, facts, raised=True))
                    self._open[alarm] = self._unseen[alarm] = at
                case AlarmEscalated(alarm=alarm, at=at, facts=facts):
                    self.told.append(Told(at, alarm, facts, raised=False))
                    self._unseen[alarm] = at
                case AlarmAcknowledged(alarm=alarm, at=at):
                    self._end(self.seen, self._unseen, alarm, at)
                case AlarmReturned(alarm=alarm, at=at):
                    self._end(self.lasted, self._open, alarm, at)
                case _:
                    pass

    @staticmethod
    def _end(into: deque[Lasted], since: dict[AlarmId, datetime], alarm: AlarmId, at: datetime) -> None:
        start = since.pop(alarm, None)
        if start is not None:
            into.append(Lasted(alarm, start, max(start, at)))


@dataclass(frozen=True, slots=True)
class Frequent:
    """An alarm, and how often it was raised."""

    alarm: AlarmId
    facts: AlarmFacts
    count: int
    share: float


@dataclass(frozen=True, slots=True)
class Figures:
    """What is counted, from ``since`` to ``until``."""

    since: datetime
    until: datetime
    total: int
    hours: tuple[tuple[datetime, int], ...]
    """Counts of whole hours, the oldest first; the last one is not over."""
    in_ten: float
    """Average in ten minutes."""
    most_in_ten: int
    """Of the fullest ten minutes, wherever they begin."""
    floods: float
    """Share of the ten-minute periods with more than ten."""
    shares: dict[Priority, float]
    frequent: tuple[Frequent, ...]
    longest: tuple[Alarm, ...]
    """Standing now, the oldest first."""
    stale: tuple[Alarm, ...]
    chattering: tuple[tuple[AlarmId, int], ...]
    """Raised three times or more within an hour, and the most that fell into one."""
    fleeting: tuple[tuple[AlarmId, int], ...]
    """Over within a minute, and how often."""
    seen_median_min: float | None
    seen_tenth_min: float | None
    """Nine of ten were seen sooner."""
    unseen: int
    shelved: int

    @property
    def per_hour(self) -> float:
        """Average in an hour."""
        return self.in_ten * 6


def figures(tally: Tally, alarms: Sequence[Alarm], now: datetime, *, days: int) -> Figures:
    """The figures of the last days.

    Args:
        tally: of the log.
        alarms: on record now.
        now: aware instant.
        days: so many; fewer where the log, or what is kept of it, begins later.
    """
    since = _since(tally, now, days)
    told = [t for t in tally.told if since <= t.at <= now]
    periods = max((now - since) / TEN, 1.0)
    counts = Counter(int((t.at - since) / TEN) for t in told)
    seen = sorted(s.length.total_seconds() / 60 for s in tally.seen if since <= s.end <= now)
    standing = sorted((a for a in alarms if a.standing), key=lambda a: (a.raised_at, a.id))
    return Figures(
        since=since,
        until=now,
        total=len(told),
        hours=_hours(told, now),
        in_ten=len(told) / periods,
        most_in_ten=most_within([t.at for t in told], TEN),
        floods=sum(count > FLOOD_IN_TEN for count in counts.values()) / periods,
        shares={p: sum(t.facts.priority is p for t in told) / len(told) if told else 0.0 for p in Priority},
        frequent=_frequent(told),
        longest=tuple(standing[:FREQUENT]),
        stale=tuple(a for a in standing if now - a.raised_at > STALE),
        chattering=_chattering(told),
        fleeting=_fleeting(tally, since, now),
        seen_median_min=_quantile(seen, 0.5),
        seen_tenth_min=_quantile(seen, 0.9),
        unseen=sum(a.acknowledged_at is None and not a.shelved for a in alarms),
        shelved=sum(a.shelved for a in alarms),
    )


def most_within(instants: Sequence[datetime], span: timedelta) -> int:
    """The most instants that fall into any stretch of that length, its end left out; they come in order."""
    most, first = 0, 0
    for last, at in enumerate(instants):
        while at - instants[first] >= span:
            first += 1
        most = max(most, last - first + 1)
    return most


def _since(tally: Tally, now: datetime, days: int) -> datetime:
    """From when on nothing is missing: the log's beginning, or the oldest that is still kept."""
    begins = [now - timedelta(days=days)]
    if tally.first_at is not None:
        begins.append(tally.first_at)
    if len(tally.told) == MOST:
        begins.append(tally.told[0].at)
    return min(max(begins), now)


def _hours(told: Sequence[Told], now: datetime) -> tuple[tuple[datetime, int], ...]:
    first = (now - 24 * HOUR).replace(minute=0, second=0, microsecond=0)
    counts = Counter(int((t.at - first) / HOUR) for t in told if t.at >= first)
    return tuple((first + n * HOUR, counts[n]) for n in range(int((now - first) / HOUR) + 1))


def _frequent(told: Sequence[Told]) -> tuple[Frequent, ...]:
    raised = [t for t in told if t.raised]
    latest = {t.alarm: t.facts for t in raised}
    counts = Counter(t.alarm for t in raised)
    order = sorted(counts, key=lambda alarm: (-counts[alarm], alarm))[:FREQUENT]
    return tuple(Frequent(a, latest[a], counts[a], counts[a] / len(raised)) for a in order)


def _chattering(told: Sequence[Told]) -> tuple[tuple[AlarmId, int], ...]:
    by_alarm: dict[AlarmId, list[datetime]] = {}
    for one in told:
        if one.raised:
            by_alarm.setdefault(one.alarm, []).append(one.at)
    most = {alarm: most_within(instants, CHATTER_WITHIN) for alarm, instants in by_alarm.items()}
    return tuple((a, n) for a, n in sorted(most.items(), key=lambda pair: (-pair[1], pair[0])) if n >= CHATTER)


def _fleeting(tally: Tally, since: datetime, now: datetime) -> tuple[tuple[AlarmId, int], ...]:
    counts = Counter(one.alarm for one in tally.lasted if since <= one.end <= now and one.length <= FLEETING)
    return tuple(sorted(counts.items(), key=lambda pair: (-pair[1], pair[0])))


def _quantile(ordered: Sequence[float], share: float) -> float | None:
    """The smallest value that at least this share does not exceed."""
    if not ordered:
        return None
    return ordered[max(0, -int(-share * len(ordered) // 1) - 1)]
