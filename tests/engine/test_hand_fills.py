"""Readings by hand fill a probe's silence in the curve that its limit is judged on, marked; beside a probe that is
heard they change nothing of what it says. Legs: FDA Food Code 2022, 3-501.14(A)."""

from datetime import datetime, timedelta

from orchestrator.core.ids import CrewId, ProbeId
from orchestrator.core.limit_folds import fold_of
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.state import TaskRecord
from orchestrator.engine.limit_watch import LimitWatch
from orchestrator.kitchen.shipped import shipped_limits
from orchestrator.ports.event_log import Reading
from tests.fakes.kitchens import at

BEGAN = at("Wed 08:00")
EARLY = CrewId("early-cook")
SILENT_AFTER = 5


def _at(minute: float) -> datetime:
    return BEGAN + timedelta(minutes=minute)


def _watch() -> LimitWatch:
    limit = shipped_limits().limit("two-leg-cooling")
    assert limit is not None
    fold = fold_of(limit, unit="C", began_s=BEGAN.timestamp())
    assert fold is not None
    return LimitWatch(limit, fold, "C")


def _record(*readings: tuple[float, float]) -> TaskRecord:
    taken = tuple((_at(minute), celsius) for minute, celsius in readings)
    return TaskRecord(started_at=BEGAN, hand_readings=taken, hand_by={when: EARLY for when, _ in taken})


def _judge(probe: list[tuple[float, float]], hand: TaskRecord, now_min: float) -> LimitVerdict:
    """The probe's readings as they come, the record as it stands at each."""
    watch = _watch()
    for minute, celsius in probe:
        by_then = TaskRecord(
            started_at=BEGAN,
            hand_readings=tuple(r for r in hand.hand_readings if r[0] <= _at(minute)),
            hand_by=hand.hand_by,
        )
        watch.fill(by_then, SILENT_AFTER, _at(minute))
        watch.fold(Reading(probe=ProbeId("core"), measured_at=_at(minute), recorded_at=_at(minute), celsius=celsius))
    watch.fill(hand, SILENT_AFTER)
    return watch.verdict(_at(now_min))


HEARD = [(float(m), 80.0 - 0.8 * m) for m in range(0, 61)]  # 80 to 32 °C within the hour, 57 °C at minute 29
AFTER = [(float(m), 10.0) for m in range(170, 175)]


def test_gap_in_which_nobody_measured_is_not_judged() -> None:
    said = _judge([*HEARD, *AFTER], _record(), 174)
    assert (said.status, said.row, said.by_hand) == ("not judged", "first-leg", ())


def test_reading_by_hand_in_the_gap_settles_the_leg_and_is_marked() -> None:
    said = _judge([*HEARD, *AFTER], _record((80, 25.0), (95, 20.0)), 174)
    assert said.status == "not yet"
    assert said.row == "second-leg"
    cold = [*AFTER, *((float(m), 4.0) for m in range(180, 185))]
    met = _judge([*HEARD, *cold], _record((80, 25.0), (95, 20.0)), 184)
    assert met.status == "met"
    assert [(hand.at, hand.by) for hand in met.by_hand] == [(_at(80), EARLY), (_at(95), EARLY)]


def test_reading_by_hand_in_the_gap_that_is_too_warm_breaks_the_leg() -> None:
    said = _judge([*HEARD, *AFTER], _record((155, 24.0)), 174)
    assert (said.status, said.row) == ("broken", "first-leg")


def test_reading_by_hand_beside_a_probe_that_is_heard_fills_nothing() -> None:
    probe = [(float(m), max(30.0, 80.0 - 0.8 * m)) for m in range(0, 175)]
    alone = _judge(probe, _record(), 174)
    beside = _judge(probe, _record((100.5, 4.0)), 174)
    assert (alone.status, beside.status, beside.by_hand) == ("broken", "broken", ())


def test_reading_taken_back_fills_no_longer() -> None:
    watch = _watch()
    for minute, celsius in HEARD:
        watch.fold(Reading(probe=ProbeId("core"), measured_at=_at(minute), recorded_at=_at(minute), celsius=celsius))
    watch.fill(_record((95, 20.0)), SILENT_AFTER)
    assert watch.verdict(_at(165)).row == "second-leg"
    watch.fill(_record((95, 20.0), (150, 4.5)), SILENT_AFTER)
    filled = watch.verdict(_at(165))
    assert filled.by_hand != ()
    watch.fill(_record(), SILENT_AFTER)
    back = watch.verdict(_at(165))
    assert (back.status, back.by_hand) == ("not judged", ())
