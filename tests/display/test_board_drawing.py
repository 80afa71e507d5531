"""Geometry of the board against values worked out by hand."""

from datetime import date, datetime, timedelta
from typing import Any

import pytest

from display import board_drawing
from orchestrator.core.views.board_models import BlockView, HandsPoint, RowView
from orchestrator.core.views.models import OrderView
from tests.fakes.kitchens import at

LONDON = "Europe/London"
AXIS = board_drawing.axis(at("Wed 06:00"), at("Wed 06:00") + timedelta(days=5), LONDON)


def block(task: str, start: str, end: str, **more: Any) -> BlockView:
    values = {"task": task, "label": task.partition(".")[0], "title": task, "done_until": None, "status": "planned"}
    return BlockView.model_validate({**values, "start": at(start), "end": at(end), **more})


def row(name: str, floor: str, *blocks: BlockView, **more: Any) -> RowView:
    values: dict[str, Any] = {"equipment": name, "name": name, "floor": floor, "store": False, "capacity": None}
    values |= {"celsius": None, "low_c": None, "high_c": None, "outside_since": None, "stopped": False}
    return RowView.model_validate({**values, "blocks": blocks, **more})


def test_axis_of_five_days_begins_at_local_midnight_and_is_linear() -> None:
    assert (AXIS.start, AXIS.end) == (at("Wed 00:00"), at("Mon 00:00"))
    assert [day.x for day in AXIS.days] == [0, 20, 40, 60, 80]
    assert [day.date for day in AXIS.days] == [date(2026, 11, 25 + n) for n in range(5)]
    assert AXIS.x(at("Thu 12:00")) == 30.0  # a day and a half of five
    assert AXIS.clipped(at("Mon 06:00")) == 100.0


def test_axis_in_summer_begins_at_midnight_of_the_kitchens_clock() -> None:
    start = datetime.fromisoformat("2026-07-01T06:00+00:00")
    axis = board_drawing.axis(start, start + timedelta(days=2), LONDON)
    assert axis.start == datetime.fromisoformat("2026-06-30T23:00+00:00")


def test_axis_over_the_end_of_summer_time_has_one_longer_day() -> None:
    # 25 October 2026 has 25 hours in London: clocks go back at 01:00 UTC.
    start = datetime.fromisoformat("2026-10-24T06:00+01:00")
    axis = board_drawing.axis(start, start + timedelta(days=2), LONDON)
    assert [round(day.width, 3) for day in axis.days] == [round(100 * 24 / 49, 3), round(100 * 25 / 49, 3)]


def test_axis_of_one_day_marks_its_even_hours() -> None:
    axis = board_drawing.axis(at("Wed 06:00"), at("Mon 06:00"), LONDON, date(2026, 11, 26))
    assert (axis.start, axis.end) == (at("Thu 00:00"), at("Fri 00:00"))
    assert axis.hours[0] == (pytest.approx(100 / 12), at("Thu 02:00"))
    assert len(axis.hours) == 11


def test_piece_of_six_hours_is_five_percent_of_five_days_and_half_done_at_half_time() -> None:
    (piece,) = board_drawing.line_pieces(
        [block("C1.cook", "Thu 00:00", "Thu 06:00", status="in hand", done_until=at("Thu 03:00"))], AXIS
    )
    assert (piece.x, piece.width, piece.done, piece.side) == (20.0, pytest.approx(5.0), pytest.approx(2.5), "inside")


def test_label_that_does_not_fit_stands_to_the_right_then_left_then_nowhere() -> None:
    short = [block("C1.cook", "Thu 06:00", "Thu 06:30")]
    assert [p.side for p in board_drawing.line_pieces(short, AXIS)] == ["right"]
    crowded = [*short, block("C2.cook", "Thu 07:00", "Thu 07:30"), block("C3.cook", "Thu 08:00", "Thu 08:30")]
    assert [p.side for p in board_drawing.line_pieces(crowded, AXIS)] == ["left", "none", "right"]


def test_neighbours_of_one_lot_carry_one_label() -> None:
    twice = [block("C1.cook", "Thu 06:00", "Thu 06:30"), block("C1.reduce", "Thu 06:40", "Thu 07:00")]
    assert [p.side for p in board_drawing.line_pieces(twice, AXIS)] == ["none", "right"]


def test_flag_at_risk_without_room_is_written_after_the_crowd_never_over_it_and_moved_gives_way() -> None:
    for flag, written in (("at risk", True), ("moved", False)):
        tight = [
            block("C1.cook", "Thu 06:00", "Thu 06:30", flag=flag),
            block("C2.cook", "Thu 08:00", "Thu 08:30"),
            block("C0.cook", "Thu 04:00", "Thu 05:50"),
        ]
        pieces = board_drawing.line_pieces(tight, AXIS)
        assert pieces[1].side == "none"  # between C0 and C2 there is no room
        assert [other.label for other in pieces[2].others] == (["C1"] if written else [])


def test_blocks_off_the_axis_are_not_drawn_and_those_across_its_edge_are_cut() -> None:
    axis = board_drawing.axis(at("Wed 06:00"), at("Mon 06:00"), LONDON, date(2026, 11, 26))
    pieces = board_drawing.line_pieces(
        [block("A1.a", "Wed 08:00", "Wed 09:00"), block("B1.b", "Wed 18:00", "Thu 06:00")], axis
    )
    assert [(p.block.label, p.x, p.width) for p in pieces] == [("B1", 0.0, 25.0)]


def test_hands_profile_is_stepped_and_says_what_is_short_from_now_on() -> None:
    points = [
        HandsPoint(at=at("Wed 06:00"), needed=0, present=1),
        HandsPoint(at=at("Wed 12:00"), needed=2, present=1),
        HandsPoint(at=at("Wed 18:00"), needed=0, present=0),
    ]
    drawn = board_drawing.hands(points, AXIS, at("Wed 07:00"))
    assert drawn.top == 2
    assert drawn.needed == "M0 2H5.00V2H10.00V0H15.00V2H100V2"
    assert drawn.present == "M5.00 2V1H10.00V1H15.00V2"
    assert drawn.short == ((10.0, at("Wed 12:00"), 1),)
    assert board_drawing.hands(points, AXIS, at("Wed 19:00")).short == ()


def order(ready: str, due: str, late: int = 0) -> OrderView:
    outlook = {"order": "SAT", "met": True, "ready_at": at(ready), "late_min": late, "margin_min": 0}
    values = {"order": "SAT", "customer": "Stall", "due": at(due), "lines": (), "handed_over_at": None, "lots": ()}
    return OrderView.model_validate({**values, "outlook": outlook})


def test_order_reaches_from_ready_to_due_and_its_words_stand_where_they_fit() -> None:
    bar = board_drawing.order_bar(order("Fri 00:00", "Sat 12:00"), "On time · 36 h spare", AXIS)
    assert bar == board_drawing.OrderBar(40.0, pytest.approx(30.0), 70.0, False, "inside")
    short = board_drawing.order_bar(order("Sat 11:00", "Sat 12:00"), "On time · 1 h spare", AXIS)
    assert short is not None
    assert short.side == "left"


def test_late_order_reaches_from_due_to_ready() -> None:
    bar = board_drawing.order_bar(order("Sat 18:00", "Sat 12:00", 360), "At risk", AXIS)
    assert bar is not None
    assert (bar.x, bar.width, bar.due, bar.late) == (70.0, pytest.approx(5.0), 70.0, True)


def test_threads_leave_the_feeding_row_pass_those_between_and_enter_the_row_that_follows() -> None:
    rows = [
        row("hob", "warm", block("C1.cook", "Wed 08:00", "Wed 10:00", feeds=("C1.age",))),
        row("fridge", "cold", block("C1.age", "Wed 10:00", "Thu 12:00", feeds=("B1.churn",))),
        row("cabinet", "cold"),
        row("churn", "churn", block("B1.churn", "Thu 12:00", "Thu 12:30")),
    ]
    drawn = board_drawing.threads(rows, AXIS)
    parts = {name: [(t.x, t.part) for t in found] for name, found in drawn.items()}
    assert parts == {"hob": [], "fridge": [(30.0, "out")], "cabinet": [(30.0, "through")], "churn": [(30.0, "in")]}


def test_words_of_a_stop_without_room_beside_it_stay_at_the_stop() -> None:
    stop = block("", "Wed 11:40", "Wed 13:40", label="Stopped 11:40", status="stopped")
    runs = [block(f"B{n}.churn", f"Wed {13 + n}:00", f"Wed {13 + n}:50") for n in range(1, 7)]
    pieces = board_drawing.line_pieces([stop, *runs], AXIS)
    # 2 h are 1.7 % of five days, its words need 11 %; the first run begins 20 min after it.
    assert (pieces[0].side, pieces[0].x) == ("over", pytest.approx(100 * (11 + 40 / 60) / 120))
    assert all(not piece.others for piece in pieces)


def test_slack_is_a_rail_behind_the_block_and_plenty_of_it_is_not_drawn() -> None:
    # Of five days an hour is 100 / 120 percent.
    hour = 100 / 120
    blocks = (
        block("A.x", "Wed 10:00", "Wed 11:00", latest_start=at("Wed 12:00"), latest_is_exact=True),
        block("B.x", "Thu 10:00", "Thu 11:00", latest_start=at("Thu 14:00")),
        block("C.x", "Fri 10:00", "Fri 11:00", latest_start=at("Fri 14:01")),
        block("D.x", "Sat 10:00", "Sat 11:00"),
    )
    a, b, c, d = board_drawing.line_pieces(blocks, AXIS)
    assert (a.rail, a.clear) == (pytest.approx(2 * hour), pytest.approx(AXIS.x(at("Wed 13:00"))))
    assert b.rail == pytest.approx(4 * hour)
    assert (c.rail, d.rail) == (0.0, 0.0)
    assert [p.walled for p in (a, b)] == [True, False]


def test_label_stands_behind_the_rail_not_on_it() -> None:
    first = block("A.x", "Wed 10:00", "Wed 10:30", latest_start=at("Wed 12:00"), flag="tight")
    only = board_drawing.line_pieces((first,), AXIS)[0]
    assert (only.side, only.flagged) == ("right", True)
    # From the rail's end, 12:30, to the next block are 3.5 of 120 hours, 2.9 %; 'A tight' takes 6.2 %: it goes left.
    near = block("B.x", "Wed 16:00", "Wed 16:30", label="")
    left, right = board_drawing.line_pieces((first, near), AXIS)
    assert left.side == "left"
    assert right.others == ()
