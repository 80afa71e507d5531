"""Flags of short steps that stand close, put together on a line below them; places worked out by hand."""

from typing import Any

from display import board_drawing
from display.board_notes import Note, Said, notes
from orchestrator.core.views.board_models import BlockView
from tests.display.test_board_drawing import AXIS, LONDON, block
from tests.fakes.kitchens import at


def told(*blocks: BlockView, axis: Any = AXIS) -> list[Note]:
    return notes(blocks, axis, {"at risk": "en riesgo"}.get)  # type: ignore[arg-type]


def test_flag_that_stands_alone_is_told_under_its_step_in_the_readers_words() -> None:
    (note,) = told(block("C1.cook", "Thu 06:00", "Thu 06:10", flag="at risk"))
    # Thursday 06:00 is a quarter into the second of five days; 'C1 en riesgo, ' has 14 characters of 0.8 %.
    assert (note.x, round(note.width, 3)) == (25.0, 11.2)
    assert note.said == (Said("C1", "at risk"),)


def test_flags_without_room_are_put_together_the_worst_first_and_more_than_two_lots_are_counted() -> None:
    close = [
        block(f"{lot}.x", f"Thu 0{hour}:00", f"Thu 0{hour}:10", flag=flag)
        for hour, (lot, flag) in enumerate([("C1", "at risk"), ("C1", "at risk"), ("H1", "missed"), ("C2", "at risk")])
    ]
    assert [note.said for note in told(*close[:3])] == [(Said("H1", "missed"), Said("C1", "at risk"))]
    more = block("C3.x", "Thu 04:00", "Thu 04:10", flag="at risk")
    assert [note.said for note in told(*close, more)] == [(Said("H1", "missed"), Said("4×", "at risk"))]


def test_no_note_lies_over_another_nor_leaves_the_board() -> None:
    day = board_drawing.axis(at("Wed 06:00"), at("Mon 06:00"), LONDON, at("Thu 12:00").date())
    flags = ("at risk", "", "at risk", "moved", "at risk", "at risk")
    steps = [block(f"L{hour}.x", f"Thu {hour:02}:00", f"Thu {hour:02}:10", flag=flags[hour % 6]) for hour in range(24)]
    found = told(*steps, axis=day)
    assert len(found) > 1
    ends = 0.0
    for note in found:
        assert note.x >= ends
        ends = note.x + note.width
    assert ends <= 100.0
    said = [one for note in found for one in note.said]
    assert {one.flag for one in said} == {"at risk"}  # what has moved is told by its shape and its title only


def test_step_off_the_axis_is_not_told_of() -> None:
    day = board_drawing.axis(at("Wed 06:00"), at("Mon 06:00"), LONDON, at("Thu 12:00").date())
    assert told(block("C1.cook", "Wed 06:00", "Wed 06:10", flag="at risk"), axis=day) == []
