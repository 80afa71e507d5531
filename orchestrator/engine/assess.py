"""Folds readings through `thermal` into facts: what each probe's curve means at this moment.

One small fold a probe, of bounded size: a reading costs the same after a week as after a minute. A
fold begins anew when another task takes the machine the probe sits on.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.ids import ProbeId, TaskId
from orchestrator.core.models import Band, Kitchen, Probe, ProbeFact, Process
from orchestrator.core.models.health import HealthFinding, doubt_in_words, doubted_since
from orchestrator.core.models.probe_fact import Spell
from orchestrator.core.models.verdict import Kept, LimitVerdict
from orchestrator.core.probe_book import ProbeBook
from orchestrator.core.probe_traces import failed_check
from orchestrator.core.state import State
from orchestrator.engine.estimating import estimator_of, moved_end
from orchestrator.engine.health_watch import HealthWatch
from orchestrator.engine.in_hand import InHand, TasksInHand, hold_of
from orchestrator.engine.limit_watch import LimitWatch, cooled, is_only_aim, met_by, unbelieved, watch_of
from orchestrator.engine.minutes import instant_of, minute_of
from orchestrator.engine.spells import joined
from orchestrator.engine.stay_watch import StayWatches
from orchestrator.ports.event_log import Reading
from orchestrator.thermal.boiling import boiling_point_c
from orchestrator.thermal.cooling import TwoLegCooling, Verdict
from orchestrator.thermal.estimates import Estimator
from orchestrator.thermal.health import Drift
from orchestrator.thermal.hold import Hold
from orchestrator.thermal.settling import Settling
from orchestrator.thermal.trend import Arrival, Trend

_TREND_GAP_MIN: Final = 10.0
"""After a longer silence the slope before it says nothing about now."""


@dataclass(slots=True)
class _Fold:
    """All that is kept of one probe's curve."""

    probe: Probe
    band: Band | None
    trend: Trend = field(default_factory=Trend)
    last: Reading | None = None
    task: TaskId | None = None
    begun_at: datetime | None = None
    in_food: bool = True
    """False from the start of a step that cools until something warmer than its target is seen: until then the probe
    may still be in the empty ice bath, whose cold must not pass for the food's."""
    hold: Hold | None = None
    cooling: TwoLegCooling | None = None
    late_leg_c: float | None = None
    """The leg of the cooling, by what it must reach, of which "will be late" was the last word."""
    estimator: Estimator | None = None
    limit: LimitWatch | None = None
    aim_only: bool = False
    """Whether its target is only what its limit asks for."""
    deadline: datetime | None = None
    """The longest end of the step in hand."""
    expected_end: datetime | None = None
    silent_since: datetime | None = None
    heard_since: datetime | None = None
    settling: Settling | None = None
    outside_since: datetime | None = None
    worst_c: float | None = None
    defrosting: bool = False
    kept: tuple[Kept, ...] = ()
    health: tuple[HealthFinding, ...] = ()
    cannot_say: tuple[tuple[str, str], ...] = ()
    offset_c: float = 0.0
    in_hand: InHand | None = None
    doubted_since: datetime | None = None
    """Since when in this step the probe may not be believed; none while it may."""
    spell: Spell | None = None


def _fold_of(probe: Probe, band: Band | None) -> _Fold:
    return _Fold(probe, band, settling=_settling(band))


def _settling(band: Band | None) -> Settling | None:
    return None if band is None else Settling(band.high, band.low, band.deadband_c, band.off_delay)


class Assessor:
    """Keeps the latest fact of every probe of a kitchen."""

    def __init__(self, kitchen: Kitchen) -> None:
        self._kitchen = kitchen
        self._book = ProbeBook()
        bands = {e.id: e.holds for e in kitchen.equipment}
        self._folds = {p.id: _fold_of(p, bands[p.equipment] if p.reads == "air" else None) for p in kitchen.probes}
        self._health = HealthWatch(boiling_point_c(kitchen.altitude_m))
        for fold in self._folds.values():
            self._health.place(fold.probe, fold.band)
        self._facts: dict[ProbeId, ProbeFact] = {}
        self._in_hand = TasksInHand()
        self._stays = StayWatches(kitchen)
        self._listening_since: dict[ProbeId, datetime] = {}

    @property
    def facts(self) -> Mapping[ProbeId, ProbeFact]:
        """The latest facts; a copy, safe to publish."""
        return dict(self._facts)

    def fold(self, reading: Reading, state: State) -> ProbeFact:
        """Take one reading and say what the curve means now.

        A reading that is not newer than the last one changes nothing: the curve runs forward only.

        Raises: KeyError for a probe that the kitchen does not have.
        """
        fold = self._folds[reading.probe]
        self._follow(state)
        self._turn_to(fold, state, reading.measured_at)
        offset = state.probes.offset_at(reading.probe, reading.measured_at)
        if offset:
            reading = replace(reading, celsius=reading.celsius + offset)
        fold.offset_c = offset
        self._judge_health(fold, reading, state)
        if fold.last is not None and reading.measured_at <= fold.last.measured_at:
            return self._publish(fold)
        minute = minute_of(reading.measured_at)
        if fold.last is not None and minute - minute_of(fold.last.measured_at) > _TREND_GAP_MIN:
            fold.trend.clear()
        if fold.silent_since is not None:
            fold.heard_since = reading.measured_at
        fold.last, fold.silent_since = reading, None
        fold.trend.fold(minute, reading.celsius)
        if fold.begun_at is not None and reading.measured_at < fold.begun_at:
            # On its way while the step began: it says how cold the empty bath was, not the food.
            fold.trend.clear()
            return self._publish(fold)
        fold.in_food = fold.in_food or _warm(fold, reading)
        if fold.hold is not None and fold.in_food:
            fold.hold.fold(minute, reading.celsius)
        if fold.estimator is not None and fold.in_food:
            fold.estimator.fold(minute, reading.celsius)
        if fold.cooling is not None and fold.in_food:
            fold.cooling.fold(minute, reading.celsius)
        if fold.limit is not None and fold.in_food:
            fold.limit.fold(reading)
        self._stays.fold(fold.probe, reading, state)
        fold.defrosting = self._stays.rise_let_pass(fold.probe)
        _fold_band(fold, reading, self._stays.rising_since(fold.probe))
        self._keep(fold, state, reading.measured_at)
        return self._publish(fold)

    def _keep(self, fold: _Fold, state: State, now: datetime) -> None:
        """Stays and draws by this probe, as far as it may be believed."""
        kept, doubted = self._stays.kept(fold.probe, state, now), doubted_since(fold.health)
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
                fold.probe, fold.band = probe, places[probe.equipment].holds if probe.reads == "air" else None
                fold.outside_since = fold.worst_c = None
                fold.settling = _settling(fold.band)
                fold.trend.clear()
                self._health.place(probe, fold.band)
        if state.probes is not self._book:
            for probe_id in self._folds:
                if state.probes.standing(probe_id) != self._book.standing(probe_id):
                    self._health.checked(probe_id)
            self._book = state.probes

    def _judge_health(self, fold: _Fold, reading: Reading, state: State) -> None:
        """Whether the probe may be believed; once it may again, what it shows counts anew from there."""
        self._health.fold(reading, None if fold.in_hand is None else fold.in_hand.target)
        self._take_health(fold, state)

    def restore_drift(self, probe: ProbeId, drift: Drift, state: State) -> None:
        """How a probe had moved against its neighbours before a restart; see `drift_back`."""
        self._health.restore(probe, drift)
        self._take_health(self._folds[probe], state)
        self._publish(self._folds[probe])

    def _take_health(self, fold: _Fold, state: State) -> None:
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
            if fold.silent_since is None and now - heard >= timedelta(minutes=fold.probe.silent_after):
                fold.silent_since, fold.heard_since = heard, None
            self._keep(fold, state, now)
            after = self._publish(fold, now)
            if before is None or before.meaning() != after.meaning():
                changed.append(after)
        return changed

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

    def _turn_to(self, fold: _Fold, state: State, until: datetime | None = None) -> None:
        """Begin hold and cooling anew when another task is in hand on the probe's machine; readings by hand before
        ``until``, its next reading, fill its silence."""
        in_hand = self._in_hand.in_food_of(fold.probe, state) if fold.probe.reads == "core" else None
        task = None if in_hand is None else in_hand.task
        fold.deadline = None if in_hand is None else in_hand.deadline
        if task == fold.task:
            if task is not None and fold.limit is not None:
                fold.limit.fill(state.record(task), fold.probe.silent_after, until)
            return
        fold.task, fold.begun_at, fold.hold, fold.cooling = task, None, None, None
        fold.in_hand, fold.doubted_since = in_hand, doubted_since(fold.health)
        fold.estimator, fold.limit, fold.late_leg_c = None, None, None
        fold.expected_end = None
        fold.trend.clear()
        if in_hand is None:
            return
        fold.begun_at = in_hand.started_at
        fold.hold = hold_of(in_hand.target)
        fold.estimator = estimator_of(in_hand.step, in_hand.target)
        assert state.kitchen is not None  # a task is in hand
        fold.limit = watch_of(state.kitchen, in_hand.step, in_hand.started_at)
        fold.aim_only = fold.limit is not None and is_only_aim(state.kitchen, in_hand.step)
        fold.in_food = in_hand.target.at_most is None
        if in_hand.step.process is Process.CHILL:
            fold.cooling = TwoLegCooling(began=minute_of(in_hand.started_at))

    def _publish(self, fold: _Fold, now: datetime | None = None) -> ProbeFact:
        fact = _fact(fold, now)
        self._facts[fold.probe.id] = fact
        return fact


def _count_anew(fold: _Fold, state: State, since: datetime) -> None:
    """What was held, reached or cooled by doubtful readings is forgotten; what was passed or missed is not."""
    if fold.in_hand is None or fold.hold is None or state.kitchen is None:
        return
    passed = fold.hold.ceiling_broken_at
    fold.hold = hold_of(fold.in_hand.target)
    fold.hold.ceiling_broken_at = passed
    fold.limit = watch_of(state.kitchen, fold.in_hand.step, fold.in_hand.started_at)
    fold.estimator = estimator_of(fold.in_hand.step, fold.in_hand.target)
    fold.trend.clear()
    if fold.cooling is not None:
        fold.cooling.forget_since(minute_of(since))


def _warm(fold: _Fold, reading: Reading) -> bool:
    return fold.hold is None or reading.celsius > fold.hold.target_c


def _fold_band(fold: _Fold, reading: Reading, rising_since: datetime | None) -> None:
    """Since when a store is outside its band without a break, and how far at worst; a defrost that was due is not."""
    if fold.band is None or fold.defrosting:
        return
    if fold.settling is not None:
        fold.settling.fold(minute_of(reading.measured_at), reading.celsius)
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


def _arrival(fold: _Fold) -> Arrival | None:
    if fold.hold is None or fold.estimator is None or fold.hold.reached_at is not None or fold.silent_since is not None:
        return None
    if fold.doubted_since is not None:
        return None
    return fold.estimator.arrival(fold.hold.target_c)


def _no_arrival(fold: _Fold, arrival: Arrival | None) -> str:
    waits = fold.estimator is not None and fold.hold is not None and fold.hold.reached_at is None
    if arrival is not None or not waits:
        return ""
    assert fold.estimator is not None
    if fold.doubted_since is not None:
        return doubt_in_words(fold.health)
    return "the probe is silent" if fold.silent_since is not None else fold.estimator.why_none


def _cooling(fold: _Fold, now: datetime | None) -> Verdict:
    if fold.cooling is None or fold.last is None:
        return ""
    known = fold.silent_since is None and fold.doubted_since is None and fold.estimator is not None
    leg_c = fold.cooling.next_target_c()
    leg = fold.estimator.arrival(leg_c) if known and fold.estimator is not None else None
    said = fold.cooling.verdict(minute_of(now or fold.last.measured_at), leg, late_before=fold.late_leg_c == leg_c)
    fold.late_leg_c = leg_c if said == "will be late" else None
    return "" if fold.doubted_since is not None and said in ("met", "on course") else said


def _verdict(fold: _Fold, now: datetime | None) -> LimitVerdict | None:
    if fold.limit is None or fold.last is None:
        return None
    arrival = None
    if fold.estimator is not None and fold.hold is not None and fold.silent_since is None:
        asked_c = fold.hold.target_c if fold.cooling is None else fold.cooling.next_target_c()
        arrival = fold.estimator.arrival(asked_c)
    said = fold.limit.verdict(now or fold.last.measured_at, arrival, fold.deadline)
    if fold.doubted_since is None:
        return said
    return unbelieved(said, fold.doubted_since, doubt_in_words(fold.health))


def _believed(fold: _Fold, minute: float | None) -> datetime | None:
    """An instant at which the target was reached or met; none where the probe may not be believed by then."""
    instant = instant_of(minute)
    doubted = fold.doubted_since
    return None if instant is None or (doubted is not None and instant >= doubted) else instant


def _met_at(fold: _Fold, said: LimitVerdict | None) -> datetime | None:
    own = None if fold.hold is None else _believed(fold, fold.hold.met_at)
    return met_by(said, fold.limit, own, aim_only=fold.aim_only)


def _fact(fold: _Fold, now: datetime | None) -> ProbeFact:
    last, hold, arrival, said = fold.last, fold.hold, _arrival(fold), _verdict(fold, now)
    at = None if last is None else last.measured_at
    silent, no_arrival = fold.silent_since is not None, _no_arrival(fold, arrival)
    if arrival is not None and at is not None:
        fold.expected_end = moved_end(fold.expected_end, at, arrival)
    # model_construct: values come from our own folds, and this runs for every reading.
    return ProbeFact.model_construct(
        probe=fold.probe.id,
        equipment=fold.probe.equipment,
        task=fold.task,
        celsius=None if last is None else last.celsius,
        measured_at=at,
        slope_c_per_min=None if silent else fold.trend.slope_c_per_min(),
        silent_since=fold.silent_since,
        outside_since=fold.outside_since,
        unsettled_since=instant_of(fold.settling.out_since) if fold.settling is not None else None,
        heard_since=fold.heard_since,
        worst_c=fold.worst_c,
        spell=fold.spell,
        reached_at=None if hold is None else _believed(fold, hold.reached_at),
        held_min=0.0 if hold is None else hold.longest_min,
        met_at=_met_at(fold, said),
        ceiling_broken_at=None if hold is None else instant_of(hold.ceiling_broken_at),
        arrival_from=None if arrival is None or at is None else at + timedelta(minutes=arrival.soonest_min),
        arrival_to=None if arrival is None or at is None else at + timedelta(minutes=arrival.latest_min),
        no_arrival=no_arrival,
        expected_end=fold.expected_end,
        cooling=cooled(said, fold.limit, _cooling(fold, now)),
        verdict=said,
        kept=fold.kept,
        defrosting=fold.defrosting,
        health=fold.health,
        cannot_say=fold.cannot_say,
        offset_c=fold.offset_c,
    )
