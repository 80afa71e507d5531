"""Folds readings through `thermal` into facts: what each probe's curve means at this moment.

One small fold a probe, of bounded size: a reading costs the same after a week as after a minute, and with a thousand
probes as with one. A fold begins anew when another task takes the machine the probe sits on.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.ids import ProbeId
from orchestrator.core.models import Kitchen, ProbeFact, Process
from orchestrator.core.models.health import doubt_in_words, doubted_since
from orchestrator.core.models.probe_fact import Spell
from orchestrator.core.models.verdict import Kept
from orchestrator.core.probe_book import ProbeBook
from orchestrator.core.probe_traces import failed_check
from orchestrator.core.state import State
from orchestrator.engine.curve import Curve, settling_in
from orchestrator.engine.estimating import foretold_of, goal_c, recorder_of
from orchestrator.engine.facts import fact_of
from orchestrator.engine.health_watch import HealthWatch
from orchestrator.engine.in_hand import InHand, TasksInHand, hold_of
from orchestrator.engine.limit_watch import is_only_aim, unbelieved, watch_of
from orchestrator.engine.minutes import instant_of, minute_of
from orchestrator.engine.rules import Finished
from orchestrator.engine.spells import joined
from orchestrator.engine.stay_watch import StayWatches
from orchestrator.ports.event_log import AHEAD, Reading
from orchestrator.thermal.boiling import boiling_point_c
from orchestrator.thermal.cooling import TwoLegCooling
from orchestrator.thermal.health import Drift

_TREND_GAP_MIN: Final = 10.0
"""After a longer silence the slope before it says nothing about now."""


class Assessor:
    """Keeps the latest fact of every probe of a kitchen."""

    def __init__(self, kitchen: Kitchen) -> None:
        self._kitchen = kitchen
        self._book = ProbeBook()
        bands = {e.id: e.holds for e in kitchen.equipment}
        self._folds: dict[ProbeId, Curve] = {}
        for probe in kitchen.probes:
            band = bands[probe.equipment] if probe.reads == "air" else None
            self._folds[probe.id] = Curve(probe, band, settling_in(band))
        self._health = HealthWatch(boiling_point_c(kitchen.altitude_m))
        for fold in self._folds.values():
            self._health.place(fold.probe, fold.band)
        self._facts: dict[ProbeId, ProbeFact] = {}
        self._in_hand = TasksInHand()
        self._stays = StayWatches(kitchen)
        self._finished: list[Finished] = []
        self._listening_since: dict[ProbeId, datetime] = {}

    @property
    def facts(self) -> Mapping[ProbeId, ProbeFact]:
        """The latest facts; a copy, safe to publish."""
        return dict(self._facts)

    def fold(self, reading: Reading, state: State) -> ProbeFact:
        """Take one reading and say what the curve means now.

        A reading that is not newer than the last one changes nothing: the curve runs forward only. One that comes
        before the last one was measured shows that the kitchen's clock was set back: `Curve.set_back`.

        Raises: KeyError for a probe that the kitchen does not have.
        """
        fold = self._folds[reading.probe]
        self._follow(state)
        self._turn_to(fold, state, reading.judged_at)
        fold.offset_c = state.probes.offset_at(reading.probe, reading.judged_at)
        if fold.offset_c:
            reading = replace(reading, celsius=reading.celsius + fold.offset_c)
        self._judge_health(fold, reading, state)
        reading = _as_judged(fold, reading)
        if fold.last is not None and reading.measured_at <= fold.last.measured_at:
            return self._publish(fold)
        minute = minute_of(reading.measured_at)
        if fold.last is not None and minute - fold.minute > _TREND_GAP_MIN:
            fold.trend.clear()
        if fold.silent_since is not None:
            fold.heard_since = reading.measured_at
        fold.last, fold.minute, fold.silent_since = reading, minute, None
        fold.trend.fold(minute, reading.celsius)
        if fold.begun_at is not None and reading.measured_at < fold.begun_at:
            # On its way while the step began: it says how cold the empty bath was, not the food.
            fold.trend.clear()
            return self._publish(fold)
        rising_since = None
        if fold.judged_until is None or reading.measured_at > fold.judged_until:
            fold.judged_until = None
            _fold_food(fold, reading)
            self._learn(fold)
            self._stays.fold(fold.probe, reading, state)
            fold.defrosting = fold.band is not None and self._stays.rise_let_pass(fold.probe)
            rising_since = self._stays.rising_since(fold.probe)
        if fold.band is not None:
            _fold_band(fold, reading, rising_since)
        self._keep(fold, state, reading.measured_at)
        return self._publish(fold)

    def _learn(self, fold: Curve) -> None:
        """A curve that has reached its target by a probe that may be believed shows how such a step runs there."""
        reached = None if fold.hold is None or fold.recorder is None else fold.hold.reached_at
        if reached is None or fold.recorder is None or fold.in_hand is None:
            return
        bands, fold.recorder = fold.recorder.bands(), None
        at, equipment = instant_of(reached), fold.in_hand.equipment
        if bands and fold.doubted_since is None and at is not None and equipment is not None:
            goal = goal_c(fold.in_hand.target)
            self._finished.append(Finished(fold.in_hand.task, equipment, at, goal, bands))

    def finished(self) -> list[Finished]:
        """Curves that have reached their target since this was last asked."""
        found, self._finished = self._finished, []
        return found

    def _keep(self, fold: Curve, state: State, now: datetime) -> None:
        """Stays and draws by this probe, as far as it may be believed."""
        kept = self._stays.kept(fold.probe, state, now)
        doubted = doubted_since(fold.health) if kept else None
        if doubted is not None:
            why = doubt_in_words(fold.health)
            kept = tuple(Kept(task=k.task, verdict=unbelieved(k.verdict, doubted, why)) for k in kept)
        fold.kept = kept

    def _follow(self, state: State) -> None:
        """Probes that were put elsewhere, checked or given an offset begin anew."""
        if state.kitchen is not None and state.kitchen is not self._kitchen:
            self._kitchen = state.kitchen
            places = {e.id: e for e in state.kitchen.equipment}
            for probe in state.kitchen.probes:
                fold = self._folds.get(probe.id)
                if fold is None or fold.probe == probe:
                    continue
                fold.seen = None
                fold.probe, fold.band = probe, places[probe.equipment].holds if probe.reads == "air" else None
                fold.outside_since = fold.worst_c = None
                fold.settling = settling_in(fold.band)
                fold.trend.clear()
                self._health.place(probe, fold.band)
        if state.probes is not self._book:
            for probe_id in self._folds:
                if state.probes.standing(probe_id) != self._book.standing(probe_id):
                    self._health.checked(probe_id)
            self._book = state.probes

    def _judge_health(self, fold: Curve, reading: Reading, state: State) -> None:
        """Whether the probe may be believed; once it may again, what it shows counts anew from there."""
        self._health.fold(reading, None if fold.in_hand is None else fold.in_hand.target)
        self._take_health(fold, state)

    def restore_drift(self, probe: ProbeId, drift: Drift, state: State) -> None:
        """How a probe had moved against its neighbours before a restart; see `drift_back`."""
        self._health.restore(probe, drift)
        self._take_health(self._folds[probe], state)
        self._publish(self._folds[probe])

    def _take_health(self, fold: Curve, state: State) -> None:
        probe = fold.probe.id
        failed, own = state.probes.failed(probe), self._health.findings(probe)
        fold.health = own if failed is None else (*own, failed_check(failed))
        fold.cannot_say = self._health.cannot_say(probe)
        since = doubted_since(fold.health)
        if since is not None:
            fold.doubted_since = since if fold.doubted_since is None else min(since, fold.doubted_since)
        elif fold.doubted_since is not None:
            _count_anew(fold, state, fold.doubted_since)
            fold.doubted_since = None

    def silence(self, now: datetime, state: State) -> list[ProbeFact]:
        """Facts that change because time passes without a reading: silence, and legs of cooling missed meanwhile."""
        changed = []
        for probe, fold in self._folds.items():
            before = self._facts.get(probe)
            self._turn_to(fold, state)
            # A probe never heard is silent from when we first listened for it.
            heard = self._listening_since.setdefault(probe, now) if fold.last is None else fold.last.measured_at
            if heard > now + AHEAD:  # the clock was set back: silence is counted from when that was seen
                heard = fold.counted_from = min(fold.counted_from or now, now)
            else:
                fold.counted_from = None
            if fold.silent_since is None and now - heard >= timedelta(minutes=fold.probe.silent_after):
                fold.silent_since, fold.heard_since = heard, None
            self._keep(fold, state, now)
            if fold.foretold is not None:
                fold.foretold.settle(minute_of(now))
            after = self._publish(fold, now)
            if before is None or before.meaning() != after.meaning():
                changed.append(after)
        return changed

    def resume(self, now: datetime, state: State) -> list[ProbeFact]:
        """After a restart and its readings: silence goes on as it was on record, so that no alarm of it ends by the
        restart. Returns: facts that mean something else than before, as `silence` does."""
        for probe, fold in self._folds.items():
            recorded = state.facts.get(probe)
            if recorded is None:
                continue
            if fold.last is None and recorded.silent_since is not None:
                self._listening_since.setdefault(probe, recorded.silent_since)
            if fold.last is not None and fold.heard_since is None:
                fold.heard_since = recorded.heard_since
                self._publish(fold)
        return self.silence(now, state)

    def resume_from(self, probe: ProbeId, state: State, now: datetime) -> datetime:
        """From when on stored readings must be folded again after a restart, so that facts are as before it."""
        since = min(now - timedelta(minutes=30), self._stays.resume_from(self._folds[probe].probe, state, now))
        in_hand = self._in_hand.at_machine(state).get(self._folds[probe].probe.equipment)
        if in_hand is not None:
            since = min(since, in_hand.started_at)
        known = state.facts.get(probe)
        out_since = None if known is None else known.unsettled_since or known.outside_since
        if out_since is not None:
            since = min(since, out_since)
        if known is not None and known.health:
            # What was wrong before the restart is found again by what it was found by, as far back as a day.
            found = min(finding.since for finding in known.health) - timedelta(hours=1)
            since = min(since, max(found, now - timedelta(days=1)))
        return since

    def _turn_to(self, fold: Curve, state: State, until: datetime | None = None) -> None:
        """Begin hold and cooling anew when another task is in hand on the probe's machine; readings by hand before
        ``until``, its next reading, fill its silence."""
        if state is not fold.seen:
            fold.seen = state
            in_hand = self._in_hand.in_food_of(fold.probe, state) if fold.probe.reads == "core" else None
            fold.deadline = None if in_hand is None else in_hand.deadline
            if (None if in_hand is None else in_hand.task) != fold.task:
                self._begin(fold, state, in_hand)
                return
        if fold.task is not None and fold.limit is not None:
            fold.limit.fill(state.record(fold.task), fold.probe.silent_after, until)

    def _begin(self, fold: Curve, state: State, in_hand: InHand | None) -> None:
        task = None if in_hand is None else in_hand.task
        fold.task, fold.begun_at, fold.hold, fold.cooling = task, None, None, None
        fold.in_hand, fold.doubted_since = in_hand, doubted_since(fold.health)
        fold.foretold, fold.limit, fold.late_leg_c, fold.recorder = None, None, None, None
        fold.expected_end = None
        fold.trend.clear()
        if in_hand is None:
            return
        fold.begun_at = in_hand.started_at
        fold.hold = hold_of(in_hand.target)
        fold.foretold, fold.recorder = foretold_of(in_hand, state), recorder_of(in_hand)
        assert state.kitchen is not None  # a task is in hand
        fold.limit = watch_of(state.kitchen, in_hand.step, in_hand.started_at)
        fold.aim_only = fold.limit is not None and is_only_aim(state.kitchen, in_hand.step)
        fold.in_food = in_hand.target.at_most is None
        if in_hand.step.process is Process.CHILL:
            fold.cooling = TwoLegCooling(began=minute_of(in_hand.started_at))

    def _publish(self, fold: Curve, now: datetime | None = None) -> ProbeFact:
        fact = fact_of(fold, now)
        self._facts[fold.probe.id] = fact
        return fact


def _as_judged(fold: Curve, reading: Reading) -> Reading:
    """The reading at the time it is judged by; where the last one is from later than now, the curve begins anew."""
    if reading.ahead:
        reading = replace(reading, measured_at=reading.judged_at)
    if fold.last is not None and fold.last.measured_at - reading.recorded_at > AHEAD:
        fold.set_back(reading.measured_at, minute_of(reading.measured_at))
    return reading


def _count_anew(fold: Curve, state: State, since: datetime) -> None:
    """What was held, reached or cooled by doubtful readings is forgotten; what was passed or missed is not."""
    if fold.in_hand is None or fold.hold is None or state.kitchen is None:
        return
    passed = fold.hold.ceiling_broken_at
    fold.hold = hold_of(fold.in_hand.target)
    fold.hold.ceiling_broken_at = passed
    fold.limit = watch_of(state.kitchen, fold.in_hand.step, fold.in_hand.started_at)
    fold.foretold, fold.recorder = foretold_of(fold.in_hand, state), None
    fold.trend.clear()
    if fold.cooling is not None:
        fold.cooling.forget_since(minute_of(since))


def _fold_food(fold: Curve, reading: Reading) -> None:
    """What a probe in the food has seen; nothing of a step that cools, before it has seen something warm."""
    fold.in_food = fold.in_food or fold.warm
    if not fold.in_food:
        return
    minute, celsius = fold.minute, reading.celsius
    if fold.hold is not None:
        fold.hold.fold(minute, celsius)
    if fold.cooling is not None:
        fold.cooling.fold(minute, celsius)
    if fold.limit is not None:
        fold.limit.fold(reading)
    if fold.recorder is not None:
        fold.recorder.fold(minute, celsius)
    if fold.foretold is not None and fold.waits:
        fold.foretold.fold(minute, reading.measured_at, celsius)


def _fold_band(fold: Curve, reading: Reading, rising_since: datetime | None) -> None:
    """Since when a store is outside its band without a break, and how far at worst; a defrost that was due is not."""
    if fold.band is None or fold.defrosting:
        return
    if fold.settling is not None:
        fold.settling.fold(fold.minute, reading.celsius)
    too_warm = reading.celsius > fold.band.high
    too_cold = fold.band.low is not None and reading.celsius < fold.band.low
    if not (too_warm or too_cold):
        if fold.outside_since is not None and fold.worst_c is not None:
            now_over = Spell(since=fold.outside_since, until=reading.measured_at, worst_c=fold.worst_c)
            out_since = instant_of(fold.settling.out_since) if fold.settling is not None else None
            fold.spell = joined(fold.spell, now_over, out_since, too_warm_above=fold.band.high)
        fold.outside_since = fold.worst_c = None
    elif fold.outside_since is None:
        since = rising_since if too_warm and rising_since is not None else reading.measured_at
        fold.outside_since, fold.worst_c = since, reading.celsius
    else:
        assert fold.worst_c is not None
        fold.worst_c = max(fold.worst_c, reading.celsius) if too_warm else min(fold.worst_c, reading.celsius)
