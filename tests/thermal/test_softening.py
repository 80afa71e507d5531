"""How warm a core can be at most: against scipy's integration of Newton's law, and as a bound."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from orchestrator.thermal.softening import QUICKEST_MIN, core_at_most


@pytest.mark.parametrize(("start", "air", "minutes"), [(-18.0, -9.0, 30), (-18.0, 4.0, 95), (-25.0, 20.0, 240)])
def test_bound_in_steady_air_is_newtons_law(start: float, air: float, minutes: float) -> None:
    # Outside check: scipy.integrate.solve_ivp on dT/dt = (T_air - T)/tau, to 1e-6 K.
    solved = solve_ivp(lambda _, t: (air - t) / QUICKEST_MIN, (0, minutes), [start], rtol=1e-9, atol=1e-9)
    assert core_at_most(start, air, minutes) == pytest.approx(float(solved.y[0][-1]), abs=1e-6)


@given(
    st.lists(st.floats(-30, 20), min_size=2, max_size=40),
    st.floats(30, 600),
    st.floats(-40, -10),
)
def test_no_core_with_a_longer_lag_in_changing_air_is_warmer(air: list[float], lag: float, start: float) -> None:
    """Truth by small implicit steps through air that changes every five minutes; the bound knows the worst air only."""
    core = start
    for celsius in air:
        for _ in np.arange(0, 5, 0.5):
            core = (core + 0.5 / lag * celsius) / (1 + 0.5 / lag)
    assert core <= core_at_most(start, max(air), 5.0 * len(air)) + 1e-6


def test_colder_air_leaves_the_start_and_no_lag_is_refused() -> None:
    assert core_at_most(-15.0, -20.0, 60) == -15.0
    assert core_at_most(-15.0, -9.0, -5) == -15.0
    with pytest.raises(ValueError, match="lag"):
        core_at_most(-15.0, -9.0, 5, lag_min=0)
