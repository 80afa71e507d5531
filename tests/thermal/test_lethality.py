"""Heat treatment added up, against scipy, a published table and a published unit."""

import numpy as np
import pytest
from scipy.integrate import quad

from orchestrator.thermal.lethality import lethality_min

# Chilled Food Association, Best Practice Guidelines, 4th ed. 2006: °C and minutes of equal effect. For other
# foods than ours: it checks the arithmetic here and is never offered as a limit.
_EQUAL_EFFECT = {
    80: 129, 81: 100, 82: 77, 83: 60, 84: 46, 85: 36, 86: 28, 87: 22, 88: 17, 89: 13, 90: 10, 91: 7.9, 92: 6.3,
    93: 5.0, 94: 4.0, 95: 3.2, 96: 2.5, 97: 2.0, 98: 1.6, 99: 1.3, 100: 1.0,
}  # fmt: skip


@pytest.mark.parametrize(("celsius", "minutes"), _EQUAL_EFFECT.items())
def test_lethality_of_the_published_table_is_ten_minutes_at_90(celsius: int, minutes: float) -> None:
    z_c = 9.0 if celsius <= 90 else 10.0
    assert lethality_min([0, minutes], [celsius, celsius], reference_c=90, z_c=z_c) == pytest.approx(10, rel=0.033)


def test_lethality_of_a_linear_ramp_equals_the_integral() -> None:
    ours = lethality_min([0, 10], [60, 70], reference_c=70, z_c=7)
    exact, _ = quad(lambda t: 10 ** ((60 + t - 70) / 7), 0, 10)
    assert ours == pytest.approx(exact, rel=1e-9)
    assert ours == pytest.approx(2.92674, abs=1e-5)  # computed


def test_lethality_of_a_wavy_curve_converges_to_the_integral() -> None:
    minutes = np.linspace(0, 30, 3001)
    ours = lethality_min(list(minutes), list(68 + 4 * np.sin(minutes / 3)), reference_c=70, z_c=7)
    exact, _ = quad(lambda t: 10 ** ((68 + 4 * np.sin(t / 3) - 70) / 7), 0, 30, limit=200)
    assert ours == pytest.approx(exact, rel=1e-5)


def test_pasteurisation_units_of_ten_minutes_at_62() -> None:
    # Del Vecchio 1951: PU = t · 1.393^(T − 60); 1.393 a degree is z = 1 / log10(1.393).
    z_c = 1 / np.log10(1.393)
    assert lethality_min([0, 10], [62, 62], reference_c=60, z_c=z_c) == pytest.approx(19.40, abs=0.005)


def test_lethality_of_a_single_reading_is_nothing() -> None:
    assert lethality_min([5], [80], reference_c=70, z_c=7) == 0.0
