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
from orchestrator.engine.estimating import foretold_of, recorder_of
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
        self._curves: dict[ProbeId, Curve] = {}
        for probe in kitchen.probes:
            band = bands[probe.equipment] if probe.reads == "air" else None
            self._curves[probe.id] = Curve(probe, band, settling_in(band))
        self._health = HealthWatch(boiling_point_c(kitchen.altitude_m))
        for curve in self._curves.values():
            self._health.place(curve.probe, curve.band)
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
        curve = self._curves[reading.probe]
        self._follow(state)
        self._turn_to(curve, state, reading.judged_at)
        curve.offset_c = state.probes.offset_at(reading.probe, reading.judged_at)
        if curve.offset_c:
            reading = replace(reading, celsius=reading.celsius + curve.offset_c)
        self._judge_health(curve, reading, state)
        reading = _as_judged(curve, reading)
        if curve.last is not None and reading.measured_at <= curve.last.measured_at:
            return self._publish(curve)
        minute = minute_of(reading.measured_at)
        if curve.last is not None and minute - curve.minute > _TREND_GAP_MIN:
            curve.trend.clear()
        if curve.silent_since is not None:
            curve.heard_since = reading.measured_at
        curve.last, curve.minute, curve.silent_since = reading, minute, None
        curve.trend.fold(minute, reading.celsius)
        curve.counts_from = _counts_from(curve, reading)
        if curve.begun_at is not None and reading.measured_at < curve.begun_at:
            # On its way while the step began: it says how cold the empty bath was, not the food.
            curve.trend.clear()
            return self._publish(curve)
        rising_since = None
        if curve.judged_until is None or reading.measured_at > curve.judged_until:
            curve.judged_until = None
            _fold_food(curve, reading)
            self._learn(curve)
            self._stays.fold(curve.probe, reading, state)
            curve.defrosting = curve.band is not None and self._stays.rise_let_pass(curve.probe)
            rising_since = self._stays.rising_since(curve.probe)
        if curve.band is not None:
            _fold_band(curve, reading, rising_since)
        self._keep(curve, state, reading.measured_at)
        return self._publish(curve)

    def _learn(self, curve: Curve) -> None:
        """A curve that has reached its target by a probe that may be believed shows how such a step runs there."""
        reached = None if curve.hold is None or curve.recorder is None else curve.hold.reached_at
        if reached is None or curve.recorder is None or curve.in_hand is None:
            return
        bands, curve.recorder = curve.recorder.bands(), None
        at, equipment = instant_of(reached), curve.in_hand.equipment
        if bands and curve.doubted_since is None and at is not None and equipment is not None:
            goal = curve.in_hand.target.celsius
            self._finished.append(Finished(curve.in_hand.task, equipment, at, goal, bands))

    def finished(self) -> list[Finished]:
        """Curves that have reached their target since this was last asked."""
        found, self._finished = self._finished, []
        return found

    def _keep(self, curve: Curve, state: State, now: datetime) -> None:
        """Stays and draws by this probe, as far as it may be believed."""
        kept = self._stays.kept(curve.probe, state, now)
        doubted = doubted_since(curve.health) if kept else None
        if doubted is not None:
            why = doubt_in_words(curve.health)
            kept = tuple(Kept(task=k.task, verdict=unbelieved(k.verdict, doubted, why)) for k in kept)
        curve.kept = kept

    def _follow(self, state: State) -> None:
        """Probes that were put elsewhere, checked or given an offset begin anew."""
        if state.kitchen is not None and state.kitchen is not self._kitchen:
            self._kitchen = state.kitchen
            places = {e.id: e for e in state.kitchen.equipment}
            for probe in state.kitchen.probes:
                curve = self._curves.get(probe.id)
                if curve is None or curve.probe == probe:
                    continue
                curve.seen = None
                curve.probe, curve.band = probe, places[probe.equipment].holds if probe.reads == "air" else None
                curve.outside_since = curve.worst_c = None
                curve.settling = settling_in(curve.band)
                curve.trend.clear()
                self._health.place(probe, curve.band)
        if state.probes is not self._book:
            for probe_id in self._curves:
                if state.probes.standing(probe_id) != self._book.standing(probe_id):
                    self._health.checked(probe_id)
            self._book = state.probes

    def _judge_health(self, curve: Curve, reading: Reading, state: State) -> None:
        """Whether the probe may be believed; once it may again, what it shows counts anew from there."""
        self._health.fold(reading, None if curve.in_hand is None else curve.in_hand.target)
        self._take_health(curve, state)

    def restore_drift(self, probe: ProbeId, drift: Drift, state: State) -> None:
        """How a probe had moved against its neighbours before a restart; see `drift_back`."""
        self._health.restore(probe, drift)
        self._take_health(self._curves[probe], state)
        self._publish(self._curves[probe])

    def _take_health(self, curve: Curve, state: State) -> None:
        probe = curve.probe.id
        failed, own = state.probes.failed(probe), self._health.findings(probe)
        curve.health = own if failed is None else (*own, failed_check(failed))
        curve.cannot_say = self._health.cannot_say(probe)
        since = doubted_since(curve.health)
        if since is not None:
            curve.doubted_since = since if curve.doubted_since is None else min(since, curve.doubted_since)
        elif curve.doubted_since is not None:
            _count_anew(curve, state, curve.doubted_since)
            curve.doubted_since = None

    def silence(self, now: datetime, state: State) -> list[ProbeFact]:
        """Facts that change because time passes without a reading: silence, and legs of cooling missed meanwhile."""
        changed = []
        for probe, curve in self._curves.items():
            before = self._facts.get(probe)
            self._turn_to(curve, state)
            # A probe never heard is silent from when we first listened for it.
            heard = self._listening_since.setdefault(probe, now) if curve.last is None else curve.last.measured_at
            if heard > now + AHEAD:  # the clock was set back: silence is counted from when that was seen
                heard = curve.counted_from = min(curve.counted_from or now, now)
            else:
                curve.counted_from = None
            if curve.silent_since is None and now - heard >= timedelta(minutes=curve.probe.silent_after):
                curve.silent_since, curve.heard_since = heard, None
            self._keep(curve, state, now)
            if curve.foretold is not None:
                curve.foretold.settle(minute_of(now))
            after = self._publish(curve, now)
            if before is None or before.meaning() != after.meaning():
                changed.append(after)
        return changed

    def resume(self, now: datetime, state: State) -> None:
        """After a restart and its readings: silence goes on as it was on record, so that no alarm of it ends by the
        restart."""
        for probe, curve in self._curves.items():
            recorded = state.facts.get(probe)
            if recorded is None:
                continue
            if curve.last is None and recorded.silent_since is not None:
                self._listening_since.setdefault(probe, recorded.silent_since)
            if curve.last is not None and curve.heard_since is None:
                curve.heard_since = recorded.heard_since
                self._publish(curve)
        self.silence(now, state)

    def resume_from(self, probe: ProbeId, state: State, now: datetime) -> datetime:
        """From when on stored readings must be folded again after a restart, so that facts are as before it."""
        since = min(now - timedelta(minutes=30), self._stays.resume_from(self._curves[probe].probe, state, now))
        in_hand = self._in_hand.at_machine(state).get(self._curves[probe].probe.equipment)
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

    def _turn_to(self, curve: Curve, state: State, until: datetime | None = None) -> None:
        """Begin hold and cooling anew when another task is in hand on the probe's machine; readings by hand before
        ``until``, its next reading, fill its silence."""
        if state is not curve.seen:
            curve.seen = state
            in_hand = self._in_hand.in_food_of(curve.probe, state) if curve.probe.reads == "core" else None
            curve.deadline = None if in_hand is None else in_hand.deadline
            if (None if in_hand is None else in_hand.task) != curve.task:
                self._begin(curve, state, in_hand)
                return
        if curve.task is not None and curve.limit is not None:
            curve.limit.fill(state.record(curve.task), curve.probe.silent_after, until)

    def _begin(self, curve: Curve, state: State, in_hand: InHand | None) -> None:
        task = None if in_hand is None else in_hand.task
        curve.task, curve.begun_at, curve.hold, curve.cooling = task, None, None, None
        curve.in_hand, curve.doubted_since = in_hand, doubted_since(curve.health)
        curve.foretold, curve.limit, curve.late_leg_c, curve.recorder = None, None, None, None
        curve.expected_end = None
        curve.trend.clear()
        if in_hand is None:
            return
        curve.begun_at = in_hand.started_at
        curve.hold = hold_of(in_hand.target)
        curve.foretold, curve.recorder = foretold_of(in_hand, state), recorder_of(in_hand)
        assert state.kitchen is not None  # a task is in hand
        curve.limit = watch_of(state.kitchen, in_hand.step, in_hand.started_at)
        curve.aim_only = curve.limit is not None and is_only_aim(state.kitchen, in_hand.step)
        curve.in_food = in_hand.target.at_most is None
        if in_hand.step.process is Process.CHILL:
            curve.cooling = TwoLegCooling(began=minute_of(in_hand.started_at))

    def _publish(self, curve: Curve, now: datetime | None = None) -> ProbeFact:
        fact = fact_of(curve, now)
        self._facts[curve.probe.id] = fact
        return fact


def _counts_from(curve: Curve, reading: Reading) -> datetime | None:
    """Until when nothing counts for the step in hand because the clock was set back; none where readings count."""
    begun, passed = curve.begun_at, curve.judged_until
    # One that came before the step began, by a clock that goes on, is the last of what was before it.
    waits = [begun] if begun is not None and begun - reading.recorded_at > AHEAD else []
    if passed is not None and reading.measured_at <= passed:
        waits.append(passed)
    return max(waits, default=None) if curve.in_hand is not None else None


def _as_judged(curve: Curve, reading: Reading) -> Reading:
    """The reading at the time it is judged by; where the last one is from later than now, the curve begins anew."""
    if reading.ahead:
        reading = replace(reading, measured_at=reading.judged_at)
    if curve.last is not None and curve.last.measured_at - reading.recorded_at > AHEAD:
        curve.set_back(reading.measured_at, minute_of(reading.measured_at))
    return reading


def _count_anew(curve: Curve, state: State, since: datetime) -> None:
    """What was held, reached or cooled by doubtful readings is forgotten; what was passed or missed is not."""
    if curve.in_hand is None or curve.hold is None or state.kitchen is None:
        return
    passed = curve.hold.ceiling_broken_at
    curve.hold = hold_of(curve.in_hand.target)
    curve.hold.ceiling_broken_at = passed
    curve.limit = watch_of(state.kitchen, curve.in_hand.step, curve.in_hand.started_at)
    curve.foretold, curve.recorder = foretold_of(curve.in_hand, state), None
    curve.trend.clear()
    if curve.cooling is not None:
        curve.cooling.forget_since(minute_of(since))


def _fold_food(curve: Curve, reading: Reading) -> None:
    """What a probe in the food has seen; nothing of a step that cools, before it has seen something warm."""
    curve.in_food = curve.in_food or curve.warm
    if not curve.in_food:
        return
    minute, celsius = curve.minute, reading.celsius
    if curve.hold is not None:
        curve.hold.fold(minute, celsius)
    if curve.cooling is not None:
        curve.cooling.fold(minute, celsius)
    if curve.limit is not None:
        curve.limit.fold(reading)
    if curve.recorder is not None:
        curve.recorder.fold(minute, celsius)
    if curve.foretold is not None and curve.waits:
        curve.foretold.fold(minute, reading.measured_at, celsius)


def _fold_band(curve: Curve, reading: Reading, rising_since: datetime | None) -> None:
    """Since when a store is outside its band without a break, and how far at worst; a defrost that was due is not."""
    if curve.band is None or curve.defrosting:
        return
    if curve.settling is not None:
        curve.settling.fold(curve.minute, reading.celsius)
    too_warm = reading.celsius > curve.band.high
    too_cold = curve.band.low is not None and reading.celsius < curve.band.low
    if not (too_warm or too_cold):
        if curve.outside_since is not None and curve.worst_c is not None:
            now_over = Spell(since=curve.outside_since, until=reading.measured_at, worst_c=curve.worst_c)
            out_since = instant_of(curve.settling.out_since) if curve.settling is not None else None
            curve.spell = joined(curve.spell, now_over, out_since, too_warm_above=curve.band.high)
        curve.outside_since = curve.worst_c = None
    elif curve.outside_since is None:
        since = rising_since if too_warm and rising_since is not None else reading.measured_at
        curve.outside_since, curve.worst_c = since, reading.celsius
    else:
        assert curve.worst_c is not None
        curve.worst_c = max(curve.worst_c, reading.celsius) if too_warm else min(curve.worst_c, reading.celsius)
