"""Verdicts on noisy, gappy readings of simulated curves near each limit, against what was true of them."""

import pytest

from tests.thermal.truth.stays import CASES
from tests.thermal.truth.verdicts import judged

_COUNT = 120
"""Of the 1,000 of each kind, for the suite; all: `python -m tests.thermal.truth.verdicts`."""


@pytest.mark.parametrize("kind", CASES)
def test_nothing_bad_beyond_the_thermometers_tolerance_is_said_to_be_met(kind: str) -> None:
    found = judged(kind, _COUNT, 7)
    assert found.missed_outside == 0
    # Curves lie on both sides of the limit, so that there is something to miss; and mostly a verdict is said.
    assert found.bad >= 3
    assert found.good >= 20
    assert found.said["not judged"] <= 0.1 * _COUNT
    # 1 of 20 good ones may be called broken for the thermometer's sake; a freezer's first defrosts are not known yet,
    # unless its clock was entered.
    assert found.false_outside <= (0.01 if CASES[kind].clock else 0.05) * found.good
