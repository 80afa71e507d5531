"""Loads as steps: adding and taking away leaves what a count minute by minute says."""

from hypothesis import given
from hypothesis import strategies as st

from orchestrator.planner.levels import EMPTY, changed, crowded, levels_of

USES = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 30), st.integers(1, 9)), max_size=12)


@given(USES, st.integers(0, 20))
def test_crowded_is_what_counting_minute_by_minute_says(drawn: list[tuple[int, int, int]], room: int) -> None:
    uses = [(start, start + minutes, load) for start, minutes, load in drawn]
    found = crowded(levels_of(uses), room)
    for minute in range(100):
        load = sum(load for start, end, load in uses if start <= minute < end)
        assert bool((found >> minute) & 1) == (load > room)


@given(USES)
def test_changed_taken_away_again_leaves_no_step(drawn: list[tuple[int, int, int]]) -> None:
    levels = EMPTY
    for start, minutes, load in drawn:
        levels = changed(levels, start, start + minutes, load)
    for start, minutes, load in drawn:
        levels = changed(levels, start, start + minutes, -load)
    assert levels == EMPTY
