"""Expected ends that plans are made with stay calm."""

from datetime import timedelta

from orchestrator.engine.estimating import moved_end
from orchestrator.thermal.trend import Arrival
from tests.fakes.kitchens import at

NOW = at("Wed 09:00")


def _in(minutes: float) -> Arrival:
    return Arrival(minutes * 0.8, minutes * 1.25, minutes)


def test_expected_end_is_kept_while_the_interval_holds_it_and_moved_when_it_has_left() -> None:
    first = moved_end(None, NOW, _in(60))
    assert first == NOW + timedelta(minutes=60)
    assert moved_end(first, NOW, _in(64)) == first
    assert moved_end(first, NOW, _in(70)) == first
    assert moved_end(first, NOW, _in(90)) == NOW + timedelta(minutes=90)
