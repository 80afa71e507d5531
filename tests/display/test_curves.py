"""Curves of stored readings: steady looks steady, limits are drawn, a line never bridges a silence."""

from datetime import timedelta

import pytest

from display.curves import trace
from orchestrator.core.ids import ProbeId
from orchestrator.ports.event_log import Reading
from tests.fakes.kitchens import at

NOON = at("Wed 12:00")
PROBE = ProbeId("fridge-air")


def heard(*pairs: tuple[float, float]) -> list[Reading]:
    """Readings as (minute after noon, °C)."""
    instants = [(NOON + timedelta(minutes=minute), celsius) for minute, celsius in pairs]
    return [Reading(PROBE, celsius, instant, instant) for instant, celsius in instants]


def hour(readings: list[Reading], **limits: float) -> tuple[tuple[tuple[float, float], ...], ...]:
    drawn = trace(readings, NOON, NOON + timedelta(hours=1), 10, **limits)  # type: ignore[arg-type]
    assert drawn is not None
    return drawn.runs


def test_trace_of_a_temperature_with_noise_of_two_tenths_is_nearly_level() -> None:
    ((*points,),) = hour(heard(*((n, 3.0 + 0.1 * (-1) ** n) for n in range(60))))
    heights = [y for _, y in points]
    assert max(heights) - min(heights) <= 5.0  # 0.2 °C of at least 4 °C


def test_trace_of_readings_parted_by_a_silence_is_not_joined_over_it() -> None:
    readings = heard((0, 3.0), (5, 3.1), (14, 3.2), (25, 6.0), (30, 5.0))
    drawn = trace(readings, NOON, NOON + timedelta(hours=1), 10)
    assert drawn is not None
    assert [len(run) for run in drawn.runs] == [3, 2]  # 9 min are no silence, 11 min are
    assert drawn.gaps == ((NOON + timedelta(minutes=14), NOON + timedelta(minutes=25)),)


def test_trace_near_a_limit_draws_it_in_place_and_hatches_the_side_beyond() -> None:
    drawn = trace(heard((0, 4.0), (30, 6.0)), NOON, NOON + timedelta(hours=1), 60, at_least_c=-20.0, at_most_c=5.0)
    assert drawn is not None
    (limit,) = drawn.limits  # the lower one is far from all that was read
    assert limit.y == pytest.approx(50.0)  # half way between 4 and 6
    assert limit.beyond == (0.0, limit.y)


def test_trace_of_more_readings_than_can_be_seen_keeps_its_peak() -> None:
    readings = heard(*((n / 60, 9.9 if n == 1777 else 3.0) for n in range(3600)))
    drawn = trace(readings, NOON, NOON + timedelta(hours=1), 10)
    assert drawn is not None
    (points,) = drawn.runs
    assert len(points) <= 260
    assert min(y for _, y in points) < 20.0
    assert (drawn.high_c, drawn.count) == (9.9, 3600)


def test_trace_without_a_reading_in_its_time_is_none() -> None:
    assert trace(heard((70, 3.0)), NOON, NOON + timedelta(hours=1), 10) is None
