"""Loads as the planner counts them, in hundredths: what fits there must fit in the store."""

from hypothesis import given
from hypothesis import strategies as st

from orchestrator.planner.indices import hundredths


@given(st.lists(st.floats(0, 20), max_size=40))
def test_loads_that_fill_a_store_in_hundredths_never_overfill_it_in_fact(loads: list[float]) -> None:
    capacity = sum(hundredths(load) for load in loads) / 100
    assert sum(loads) <= capacity + 1e-6


def test_loads_written_in_hundredths_are_counted_as_written() -> None:
    # Binary has no 0.29: a ceiling without a hair's breadth taken off would make it 0.3.
    assert [hundredths(load) for load in (0.0, 0.29, 1.1, 4.7, 30.0, 10 / 3)] == [0, 29, 110, 470, 3000, 334]
