"""Geometry of the drawings against values worked out by hand."""

import math
from datetime import timedelta

import pytest

from display import drawing
from orchestrator.core.views.models import WindowState
from orchestrator.ports.event_log import Reading
from tests.fakes import canned
from tests.fakes.canned import NOW, later, window


@pytest.mark.parametrize(
    ("minutes", "percent"),
    [
        # ln(1 + t/10) / ln(433) worked out with a table of logarithms: ln 433 = 6.0707, ln 2.5 = 0.9163,
        # ln 7 = 1.9459, ln 25 = 3.2189, ln 73 = 4.2905, ln 145 = 4.9767.
        (15, 15.094),
        (60, 32.054),
        (240, 53.023),
        (720, 70.675),
        (1440, 81.979),
        (4320, 100.0),
    ],
)
def test_nearness_at_its_marks_is_where_the_logarithm_puts_it(minutes: float, percent: float) -> None:
    assert drawing.nearness(minutes) == pytest.approx(percent, abs=0.01)


def test_nearness_before_now_is_zero_and_beyond_three_days_is_the_end() -> None:
    assert (drawing.nearness(-5), drawing.nearness(0), drawing.nearness(10_000)) == (0.0, 0.0, 100.0)


def test_nearness_of_ten_minutes_is_ln_two_over_ln_433() -> None:
    assert drawing.nearness(10) == pytest.approx(100 * math.log(2) / math.log(433))


def test_bar_shut_hatches_to_the_post_and_puts_peg_and_wall_behind_it() -> None:
    bar = drawing.window_bar(window(198, 218, 318), NOW)
    # 1+19.8 = 20.8, 1+21.8 = 22.8, 1+31.8 = 32.8: ln 3.0350, 3.1268, 3.4904; jaws from 258 min: ln 26.8 = 3.2884
    assert bar.state is WindowState.SHUT
    assert bar.hatch_to == pytest.approx(49.99, abs=0.02)
    assert bar.peg == pytest.approx(51.51, abs=0.02)
    assert bar.wall == pytest.approx(57.50, abs=0.02)
    assert bar.jaws_from == pytest.approx(54.17, abs=0.02)
    assert bar.jaw_start_px == 0.0
    assert bar.ring is None


def test_bar_half_way_through_its_lead_time_is_half_closed_at_now() -> None:
    bar = drawing.window_bar(window(None, None, 30), NOW)
    assert (bar.state, bar.jaws_from, bar.jaw_start_px) == (WindowState.CLOSING, 0.0, 5.0)


def test_bar_without_latest_mark_runs_off_the_scale() -> None:
    bar = drawing.window_bar(window(None, 60, None), NOW)
    assert (bar.state, bar.wall, bar.open_to, bar.jaws_from) == (WindowState.OPEN, None, 100.0, None)


def test_bar_marks_beyond_three_days_are_not_drawn_as_if_they_were_there() -> None:
    bar = drawing.window_bar(window(None, 4321, 4400), NOW)
    assert (bar.peg, bar.ring, bar.wall, bar.jaws_from, bar.open_to) == (None, None, None, None, 100.0)


def test_bar_at_risk_has_a_ring_beyond_the_wall_and_no_peg() -> None:
    bar = drawing.window_bar(window(-30, 150, 60, "at risk", late_min=90), NOW)
    assert (bar.state, bar.peg) == (WindowState.AT_RISK, None)
    assert bar.wall == pytest.approx(32.05, abs=0.01)
    assert bar.ring == pytest.approx(45.67, abs=0.01)  # ln 16 = 2.7726


def test_bar_past_its_latest_mark_is_missed_though_the_view_is_older() -> None:
    assert drawing.window_bar(window(-60, -12, -1, "closing"), NOW).missed


@pytest.mark.parametrize(
    ("opens", "closes", "state"),
    [
        (31, 400, WindowState.SHUT),
        (30, 400, WindowState.OPENING),
        (0, 400, WindowState.OPEN),
        (None, 61, WindowState.OPEN),
        (None, 60, WindowState.CLOSING),
        (None, 0, WindowState.CLOSING),
    ],
)
def test_live_state_changes_at_its_marks(opens: float | None, closes: float, state: WindowState) -> None:
    assert drawing.live_state(window(opens, None, closes), NOW) is state


def test_fill_strip_lays_lots_side_by_side_and_booked_ones_last() -> None:
    blocks, over = drawing.fill_strip(
        canned.store("fridge", "Fridge", "cold", 2.8, "24 L", ("X1", 6, True), ("C1", 12, False))
    )
    assert [(b.label, b.x, b.width, b.booked, b.over) for b in blocks] == [
        ("C1", 0.0, 50.0, False, False),
        ("X1", 50.0, 25.0, True, False),
    ]
    assert over == 0.0


def test_fill_strip_over_its_capacity_sticks_past_the_wall() -> None:
    blocks, over = drawing.fill_strip(
        canned.store("fridge", "Fridge", "cold", 2.8, "24 L", ("C1", 21, False), ("C2", 6, False))
    )
    assert over == pytest.approx(3.0)
    assert (blocks[1].x, blocks[1].width, blocks[1].over) == (87.5, 24.5, True)  # cut 12 past the wall


def test_fill_strip_booked_beyond_the_wall_ends_at_it_and_is_no_excess() -> None:
    blocks, over = drawing.fill_strip(
        canned.store("blast", "Blast", "hard", -31, "12 L", ("B1", 6, False), ("B2", 5, True), ("B3", 5, True))
    )
    assert [(round(b.x, 2), round(b.x + b.width, 2), b.over) for b in blocks] == [
        (0.0, 50.0, False),
        (50.0, 91.67, False),
        (91.67, 100.0, False),
    ]
    assert over == 0.0


def _reading(minute: float, celsius: float) -> Reading:
    return Reading(canned.heating().probe, celsius, later(minute), later(minute))


def test_curve_puts_now_in_the_middle_and_the_target_on_its_line() -> None:
    readings = [_reading(-30, 5.0), _reading(-20, 22.0), _reading(-10, 52.0), _reading(0, 82.0 - 10)]
    drawn = drawing.curve(readings, canned.heating(arrival_from=later(4), arrival_to=later(8)), NOW)
    # 22..82 °C over 78 of 100, from 11.4 down: 52 °C lies half way, at 11.4 + 39 = 50.4; the oldest is too old
    assert drawn.points == ((0.0, 89.4), (25.0, 50.4), (50.0, 24.4))
    assert drawn.target_y == 11.4
    assert drawn.arrival == (60.0, 70.0)
    assert drawn.ring is None


def test_curve_of_a_silent_probe_ends_in_an_open_ring_and_promises_nothing() -> None:
    silent = canned.heating(silent_since=later(-11))
    drawn = drawing.curve(canned.heating_curve(later(-11)), silent, NOW)
    assert drawn.ring == drawn.points[-1]
    assert drawn.ring is not None
    assert drawn.ring[0] == pytest.approx(50 - 50 * 11 / 20)
    assert (drawn.arrival, drawn.now_y) == (None, None)


def test_curve_without_readings_or_target_is_empty() -> None:
    assert drawing.curve([], canned.heating(target_c=None), NOW) == drawing.Curve((), None, None, None, None)


def test_curve_leaves_out_what_is_measured_after_now() -> None:
    later_ones = [_reading(-1, 20.0), _reading(3, 30.0)]
    assert len(drawing.curve(later_ones, canned.heating(), NOW - timedelta(0)).points) == 1
