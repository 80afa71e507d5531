"""Litres as height, against values worked out by hand."""

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from display import board_drawing, store_drawing
from orchestrator.core.views.board_models import BlockView
from tests.fakes.kitchens import WED, at

AXIS = board_drawing.axis(at("Wed 06:00"), at("Wed 06:00") + timedelta(days=5), "Europe/London")


def stay(task: str, start: str, end: str, litres: float, **more: Any) -> BlockView:
    values = {"task": task, "label": task.partition(".")[0], "title": task, "done_until": None, "status": "planned"}
    return BlockView.model_validate({**values, "start": at(start), "end": at(end), "litres": litres, **more})


def drawn(*blocks: BlockView, capacity: float = 10) -> store_drawing.StoreDrawing:
    return store_drawing.store(blocks, capacity, AXIS, em=10)


def test_block_of_four_litres_of_ten_is_two_fifths_high_and_stands_on_the_floor() -> None:
    (place,) = drawn(stay("C1.age", "Thu 00:00", "Fri 00:00", 4)).places
    assert (place.x, place.width, place.y, place.height) == (20.0, 20.0, 60.0, 40.0)


def test_lots_that_are_there_together_lie_on_each_other_and_one_that_comes_later_lies_low() -> None:
    places = drawn(
        stay("C1.age", "Thu 00:00", "Fri 00:00", 4),
        stay("C2.age", "Thu 12:00", "Sat 00:00", 3),
        stay("C3.age", "Fri 00:00", "Sat 00:00", 2),
    ).places
    assert {p.block.label: p.y for p in places} == {"C1": 60.0, "C2": 30.0, "C3": 80.0}


def test_parts_of_one_lot_lie_together_the_longest_lowest_with_one_label() -> None:
    places = drawn(
        stay("B1.hold.SAT", "Thu 00:00", "Fri 00:00", 3), stay("B1.hold.SUN", "Thu 00:00", "Sun 00:00", 2)
    ).places
    assert [(p.block.task, p.y, p.text) for p in places] == [
        ("B1.hold.SAT", 50.0, "B1 5\u00a0L"),
        ("B1.hold.SUN", 80.0, ""),
    ]


def test_lid_says_the_fullest_moment_of_each_day_and_by_how_much_it_is_broken() -> None:
    lids = drawn(
        stay("C1.age", "Wed 12:00", "Thu 12:00", 6),
        stay("C2.age", "Thu 06:00", "Fri 06:00", 6),
        stay("C3.age", "Fri 06:00", "Fri 18:00", 10),
    ).lids
    assert [(lid.litres, lid.full, lid.over) for lid in lids] == [
        (6.0, False, 0),
        (12.0, False, 2.0),
        (10.0, True, 0),
        (0.0, False, 0),
        (0.0, False, 0),
    ]


def test_over_lasts_as_long_as_both_are_there() -> None:
    (over,) = drawn(stay("C1.age", "Wed 12:00", "Thu 12:00", 6), stay("C2.age", "Thu 06:00", "Fri 06:00", 6)).overs
    assert over == store_drawing.Over(
        25.0, pytest.approx(5.0), pytest.approx(20.0), pytest.approx(2.0), at("Thu 12:00")
    )


def test_hatch_reaches_to_the_earliest_leaving_rail_to_the_latest_and_underside_to_now() -> None:
    block = stay(
        "C1.age",
        "Thu 00:00",
        "Fri 00:00",
        4,
        opens=at("Thu 12:00"),
        closes=at("Fri 12:00"),
        done_until=at("Thu 06:00"),
        status="in hand",
    )
    (place,) = drawn(block).places
    assert (place.hatch, place.elapsed, place.rail) == pytest.approx((10.0, 5.0, 10.0))
    assert place.wall is None


def test_stay_that_lasts_too_long_has_a_wall_at_its_latest_leaving_and_no_rail() -> None:
    block = stay("C1.age", "Thu 00:00", "Sat 00:00", 4, opens=at("Thu 12:00"), closes=at("Fri 00:00"))
    (place,) = drawn(block).places
    assert (place.wall, place.rail) == (40.0, 0.0)


def test_latest_start_of_a_step_in_a_store_is_not_taken_for_a_leaving() -> None:
    (place,) = drawn(stay("B1.harden", "Thu 00:00", "Thu 12:00", 4, closes=at("Thu 01:00"))).places
    assert (place.wall, place.rail) == (None, 0.0)


def test_low_block_has_its_label_beside_it() -> None:
    (place,) = drawn(stay("P1.keep", "Thu 00:00", "Fri 00:00", 0.5)).places
    assert (place.text, place.beside, place.thin) == ("P1", True, True)
    assert place.label_y == 94.5  # half a line above the floor


BLOCKS = st.lists(st.tuples(st.integers(0, 80), st.integers(1, 40), st.integers(1, 4)), max_size=8)


@given(BLOCKS)
def test_no_block_overlaps_another_unless_the_lid_has_to_hold_it_down(spec: list[tuple[int, int, int]]) -> None:
    blocks = [
        BlockView(
            task=f"L{n}.keep",  # type: ignore[arg-type]
            label=f"L{n}",
            title="",
            start=WED + timedelta(hours=start),
            end=WED + timedelta(hours=start + length),
            done_until=None,
            status="planned",
            litres=litres,
        )
        for n, (start, length, litres) in enumerate(spec)
    ]
    levels = store_drawing.stack(blocks, 1000.0)
    for one in blocks:
        for other in blocks:
            if one.task < other.task and one.start < other.end and other.start < one.end:  # type: ignore[operator]
                low, high = levels[str(one.task)], levels[str(other.task)]
                assert low + one.litres <= high + 1e-9 or high + other.litres <= low + 1e-9


def test_flag_stands_in_its_block_or_behind_it_and_moved_gives_way() -> None:
    def flag_x(end: str, flag: str) -> float | None:
        return drawn(stay("C1.age", "Thu 00:00", end, 4, flag=flag)).places[0].flag_x

    assert flag_x("Sat 00:00", "moved") == pytest.approx(20.35 + 6 * 0.8 + 0.5)  # behind "C1 4 L", six characters
    assert flag_x("Thu 06:00", "moved") is None
    assert flag_x("Thu 06:00", "missed") == pytest.approx(20.35 + 2 * 0.8 + 0.5)  # behind "C1": litres do not fit
