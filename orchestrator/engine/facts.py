"""From a curve, as far as it is folded, to the fact that is published of it."""

from datetime import datetime

from orchestrator.core.models import ProbeFact
from orchestrator.core.models.health import doubt_in_words
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.engine.curve import Curve
from orchestrator.engine.estimating import Expectation, moved_end
from orchestrator.engine.limit_watch import cooled, met_by, unbelieved
from orchestrator.engine.minutes import instant_of, minute_of
from orchestrator.thermal.cooling import Verdict
from orchestrator.thermal.trend import Arrival


def fact_of(curve: Curve, now: datetime | None = None) -> ProbeFact:
    """What the curve means at its newest reading, or at a later instant."""
    last, hold = curve.last, curve.hold
    expected = _expected(curve)
    said = _verdict(curve, now)
    if expected is not None and last is not None and expected.news:
        curve.expected_end = moved_end(curve.expected_end, last.measured_at, expected.arrival(curve.minute))
        expected.news = False
    cooling = cooled(said, curve.limit, _cooling(curve, now))
    silent = curve.silent_since is not None
    # Values come from our own folds, and this runs for every reading.
    return ProbeFact.trusted(
        probe=curve.probe.id,
        equipment=curve.probe.equipment,
        task=curve.task,
        celsius=None if last is None else last.celsius,
        measured_at=None if last is None else last.measured_at,
        slope_c_per_min=None if silent else curve.trend.slope_c_per_min(),
        silent_since=curve.silent_since,
        outside_since=curve.outside_since,
        unsettled_since=None if curve.settling is None else instant_of(curve.settling.out_since),
        heard_since=curve.heard_since,
        worst_c=curve.worst_c,
        spell=curve.spell,
        reached_at=None if hold is None else _believed(curve, hold.reached_at),
        held_min=0.0 if hold is None else hold.longest_min,
        met_at=_met_at(curve, said),
        ceiling_broken_at=None if hold is None else instant_of(hold.ceiling_broken_at),
        arrival_from=None if expected is None else expected.soonest_at,
        arrival_to=None if expected is None else expected.latest_at,
        no_arrival=_no_arrival(curve, expected),
        earlier_runs=0 if expected is None or curve.foretold is None else curve.foretold.earlier_runs,
        expected_end=curve.expected_end,
        cooling=cooling,
        verdict=said,
        kept=curve.kept,
        defrosting=curve.defrosting,
        health=curve.health,
        cannot_say=curve.cannot_say,
        counts_from=curve.counts_from,
        offset_c=curve.offset_c,
    )


def _expected(curve: Curve) -> Expectation | None:
    if curve.hold is None or curve.foretold is None or curve.hold.reached_at is not None:
        return None
    if curve.silent_since is not None or curve.doubted_since is not None:
        return None
    return curve.foretold.when(curve.hold.target_c)


def _no_arrival(curve: Curve, expected: Expectation | None) -> str:
    if expected is not None or curve.foretold is None or curve.hold is None or curve.hold.reached_at is not None:
        return ""
    if curve.doubted_since is not None:
        return doubt_in_words(curve.health)
    return "the probe is silent" if curve.silent_since is not None else curve.foretold.why_none(curve.hold.target_c)


def _cooling(curve: Curve, now: datetime | None) -> Verdict:
    if curve.cooling is None or curve.last is None:
        return ""
    known = curve.silent_since is None and curve.doubted_since is None
    leg_c = curve.cooling.next_target_c()
    leg = curve.foretold.arrival(leg_c) if known and curve.foretold is not None and curve.cooling.waits else None
    minute = curve.minute if now is None else minute_of(now)
    said = curve.cooling.verdict(minute, leg, late_before=curve.late_leg_c == leg_c)
    curve.late_leg_c = leg_c if said == "will be late" else None
    return "" if curve.doubted_since is not None and said in ("met", "on course") else said


def _verdict(curve: Curve, now: datetime | None) -> LimitVerdict | None:
    if curve.limit is None or curve.last is None:
        return None

    def arrival() -> Arrival | None:
        if curve.foretold is None or curve.hold is None or curve.silent_since is not None:
            return None
        return curve.foretold.arrival(curve.hold.target_c if curve.cooling is None else curve.cooling.next_target_c())

    said = curve.limit.verdict(now or curve.last.measured_at, arrival, curve.deadline)
    if curve.doubted_since is None:
        return said
    return unbelieved(said, curve.doubted_since, doubt_in_words(curve.health))


def _believed(curve: Curve, minute: float | None) -> datetime | None:
    """An instant at which the target was reached or met; none where the probe may not be believed by then."""
    instant = instant_of(minute)
    doubted = curve.doubted_since
    return None if instant is None or (doubted is not None and instant >= doubted) else instant


def _met_at(curve: Curve, said: LimitVerdict | None) -> datetime | None:
    own = None if curve.hold is None else _believed(curve, curve.hold.met_at)
    return met_by(said, curve.limit, own, aim_only=curve.aim_only)
