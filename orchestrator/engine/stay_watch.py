"""Judges what has no target to reach: stays in a store, and the draw out of the churn, by the probes of their place."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.limit_folds import fold_of
from orchestrator.core.models import Equipment, Kitchen, Probe, ProbeFact, Step
from orchestrator.core.models.limit import OF_FOOD
from orchestrator.core.models.verdict import Kept, LimitVerdict
from orchestrator.core.plan_index import kitchen_index
from orchestrator.core.state import State, TaskStatus
from orchestrator.engine.limit_watch import LimitWatch
from orchestrator.ports.event_log import Reading
from orchestrator.thermal.defrost import Clock, Defrosts
from orchestrator.thermal.verdict import Verdict

FROM_BACK: Final = timedelta(hours=72)
"""So far back readings are folded again after a restart for a stay; the longest that an ageing base is kept."""
DEFROSTS_BACK: Final = timedelta(hours=36)
"""Defrosts come a few times a day: in so long three are seen."""


@dataclass(slots=True)
class _Watch:
    """One task on one probe."""

    watch: LimitWatch
    before: LimitVerdict | None
    """What was on record when it was begun to watch: after a restart, what was broken by then stays so."""
    raw: Verdict | None = None
    told: LimitVerdict | None = None

    def verdict(self, now: datetime) -> LimitVerdict:
        """Put into words only when what it says has changed: this runs for every reading and every lot."""
        if self.before is not None and self.before.status == "broken":
            return self.before
        raw = self.watch.raw(now)
        known = self.raw
        same = known is not None and (raw.status, raw.why, raw.within_tolerance, raw.readings[:1]) == (
            known.status,
            known.why,
            known.within_tolerance,
            known.readings[:1],
        )
        if self.told is None or not same:
            self.raw, self.told = raw, self.watch.told(raw)
        return self.told


class StayWatches:
    """All stays and draws of a kitchen, by probe."""

    def __init__(self, kitchen: Kitchen) -> None:
        self._kitchen = kitchen
        self._highs = {e.id: e.holds.high for e in kitchen.equipment if e.holds is not None}
        self._clocks = {e.id: _clock_of(e) for e in kitchen.equipment}
        self._watches: dict[tuple[str, TaskId], _Watch] = {}
        self._defrosts: dict[str, Defrosts] = {}
        self._placed: Kitchen | None = None
        self._air: dict[EquipmentId, list[str]] = {}
        self._seq = -1
        self._there: dict[EquipmentId, list[tuple[TaskId, datetime, Step]]] = {}

    def fold(self, probe: Probe, reading: Reading, state: State) -> None:
        """Take one reading of a probe."""
        self._kitchen = state.kitchen or self._kitchen
        self._fold_defrosts(probe, reading)
        for task, watch in self._of(probe, state).items():
            watch.watch.fill(state.record(task), probe.silent_after, reading.measured_at)
            watch.watch.fold(reading)

    def kept(self, probe: Probe, state: State, now: datetime) -> tuple[Kept, ...]:
        """What can be said of each at an instant."""
        found = self._of(probe, state)
        if not found:
            return ()
        for task, watch in found.items():
            watch.watch.fill(state.record(task), probe.silent_after)
        return tuple(Kept.trusted(task=task, verdict=watch.verdict(now)) for task, watch in found.items())

    def rise_let_pass(self, probe: Probe) -> bool:
        """Whether the air of a freezer is warm because a defrost was due."""
        known = self._defrosts.get(probe.id)
        return known is not None and known.expected_now

    def rising_since(self, probe: Probe) -> datetime | None:
        """Since when the air of a freezer is above its band; a defrost that lasts too long counts from there."""
        known = self._defrosts.get(probe.id)
        since_s = None if known is None else known.rising_since_s
        return None if since_s is None else datetime.fromtimestamp(since_s, UTC)

    def resume_from(self, probe: Probe, state: State, now: datetime) -> datetime:
        """From when on its readings must be folded again after a restart."""
        begun = [since for _, since, _ in self._tasks(state).get(probe.equipment, ())]
        since = max(min(begun, default=now), now - FROM_BACK)
        return min(since, now - DEFROSTS_BACK) if self._is_freezer(probe) else since

    def _is_freezer(self, probe: Probe) -> bool:
        high = self._highs.get(probe.equipment)
        return probe.reads == "air" and high is not None and high < 0.0

    def _fold_defrosts(self, probe: Probe, reading: Reading) -> None:
        second = reading.measured_at.timestamp()
        if self._is_freezer(probe):
            known = self._defrosts.get(probe.id)
            if known is None:
                known = self._defrosts[probe.id] = Defrosts(self._highs[probe.equipment], self._clocks[probe.equipment])
            known.fold(second, reading.celsius)
        elif probe.reads == "core":
            for defrosts in self._beside(probe.equipment):
                defrosts.fold_food(reading.celsius)

    def _beside(self, place: EquipmentId) -> list[Defrosts]:
        """Of the probes in the air of a place: looked up once for each kitchen, for there may be many probes."""
        if self._placed is not self._kitchen:
            self._placed, self._air = self._kitchen, {}
            for probe in self._kitchen.probes:
                if self._is_freezer(probe):
                    self._air.setdefault(probe.equipment, []).append(probe.id)
        names = self._air.get(place)
        return [self._defrosts[name] for name in names if name in self._defrosts] if names else []

    def _of(self, probe: Probe, state: State) -> dict[TaskId, _Watch]:
        there = self._tasks(state).get(probe.equipment)
        if not there:
            return {}
        if probe.reads == "core":
            own = state.probes.task_of(probe.id)
            # Of several, only the one that it was put into: else nobody said in which of them it is.
            there = [one for one in there if one[0] == own] if own is not None or len(there) > 1 else there
        found = {}
        for task, since, step in there:
            key = (str(probe.id), task)
            if key not in self._watches:
                watch = self._watch(probe, step, since)
                if watch is None:
                    continue
                self._watches[key] = _Watch(watch, _on_record(state.facts.get(probe.id), task))
            found[task] = self._watches[key]
        return found

    def _watch(self, probe: Probe, step: Step, since: datetime) -> LimitWatch | None:
        limit = None if step.limit is None else self._kitchen.limit(step.limit.id)
        if limit is None or (limit.kind in OF_FOOD and probe.reads == "air"):
            return None
        unit = self._kitchen.temperature_unit
        shared = self._defrosts.get(probe.id)
        fold = fold_of(limit, unit=unit, began_s=since.timestamp(), reads=probe.reads, use=step.limit, defrosts=shared)
        return None if fold is None else LimitWatch(limit, fold, unit, probe.reads)

    def _tasks(self, state: State) -> dict[EquipmentId, list[tuple[TaskId, datetime, Step]]]:
        if state.seq != self._seq:
            self._seq, self._there = state.seq, {}
            for place, task, since, step in _without_target(state):
                self._there.setdefault(place, []).append((task, since, step))
            alive = {one[0] for tasks in self._there.values() for one in tasks}
            self._watches = {key: watch for key, watch in self._watches.items() if key[1] in alive}
        return self._there


def _clock_of(machine: Equipment) -> Clock | None:
    known = machine.defrosts
    return None if known is None else Clock(known.every * 60.0, known.longest * 60.0)


def _without_target(state: State) -> Iterator[tuple[EquipmentId, TaskId, datetime, Step]]:
    """Tasks in hand whose step has a limit and no target."""
    if state.kitchen is None or state.plan is None:
        return
    known = kitchen_index(state.kitchen)
    for task in state.plan.tasks:
        record = state.tasks.get(task.id)
        if record is None or record.status is not TaskStatus.IN_HAND or task.recipe is None or task.step is None:
            continue
        place, step = record.equipment or task.equipment, known.step(task)
        if place is None or step is None or record.started_at is None:
            continue
        if step.limit is not None and step.target is None:
            yield place, task.id, record.started_at, step


def _on_record(fact: ProbeFact | None, task: TaskId) -> LimitVerdict | None:
    return None if fact is None else next((one.verdict for one in fact.kept if one.task == task), None)
