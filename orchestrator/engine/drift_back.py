"""Drift after a restart: rebuilt from stored readings, of the beginning of each baseline and of the last hours.

What lies between says nothing that is kept: a drift knows its first eight half hours and its last six. So a restart
after a year reads no more than one after a day.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from heapq import merge
from typing import Final

from orchestrator.core.ids import ProbeId
from orchestrator.core.models import Kitchen
from orchestrator.core.state import State
from orchestrator.ports.event_log import Reading
from orchestrator.thermal.health.drift import BUCKET_S, FIRST, LAST, Drift
from orchestrator.thermal.health.signs import ANYTHING
from orchestrator.thermal.health.together import MOST_BESIDE, Together

_BUCKET: Final = timedelta(seconds=BUCKET_S)
BASELINE: Final = (FIRST + 1) * _BUCKET
"""The half hours of a baseline, and the reading that closes the last of them."""
RECENT: Final = (LAST + 1) * _BUCKET
LOOKED_FOR: Final = timedelta(hours=24)
"""So long after a check a baseline is looked for, where the probe was silent in between; a figure of ours."""

Between = Callable[[ProbeId, datetime, datetime], Sequence[Reading]]


def together_in_air(kitchen: Kitchen) -> Iterator[tuple[ProbeId, ...]]:
    """Probes that share the air of a place, two at least: others have nothing to drift against."""
    for place in kitchen.equipment:
        found = tuple(p.id for p in kitchen.probes if p.equipment == place.id and p.reads == "air")
        if len(found) > 1:
            yield found[:MOST_BESIDE]


def baseline_from(state: State, probe: ProbeId) -> datetime | None:
    """Since when the drift of a probe counts: its last check, offset or move; else since planning began."""
    book = state.probes
    events = (book.checks.get(probe, ()), book.offsets.get(probe, ()), book.places.get(probe, ()))
    begun = None if state.kitchen is None else state.kitchen.first_start
    return max((listed[-1].at for listed in events if listed), default=begun)


def drifts_of(state: State, group: Sequence[ProbeId], between: Between, now: datetime) -> Mapping[ProbeId, Drift]:
    """The drift of every probe that shares an air, as it would be had the program run on.

    Args:
        state: What is known of checks, offsets and moves.
        group: The probes.
        between: Stored readings of one, in order.
        now: The present instant.
    """
    begins = {probe: baseline_from(state, probe) for probe in group}
    made: dict[datetime, Together] = {}
    for begin in dict.fromkeys(begin for begin in begins.values() if begin is not None and begin < now):
        made[begin] = _folded(state, group, between, begin, now)
    return {probe: made[begin].drift_of(probe) for probe, begin in begins.items() if begin in made}


def _folded(state: State, group: Sequence[ProbeId], between: Between, begin: datetime, now: datetime) -> Together:
    together = Together()
    for probe in group:
        together.place(probe, "air")
    until = begin
    while until < min(now, begin + LOOKED_FOR) and not all(together.drift_of(p).has_baseline for p in group):
        since, until = until, min(now, until + BASELINE)
        _fold(together, state, _merged(group, between, since, until))
    _fold(together, state, _merged(group, between, max(until, now - RECENT), now))
    return together


def _merged(group: Sequence[ProbeId], between: Between, since: datetime, until: datetime) -> Iterator[Reading]:
    return merge(*(between(probe, since, until) for probe in group), key=lambda reading: reading.measured_at)


def _fold(together: Together, state: State, readings: Iterator[Reading]) -> None:
    for reading in readings:
        celsius = reading.celsius + state.probes.offset_at(reading.probe, reading.measured_at)
        together.fold(reading.probe, reading.measured_at.timestamp(), celsius, ANYTHING)
