"""From noisy readings to alarms: each trouble is told once, none is hidden, however the curve breathes."""

import random
from collections.abc import Callable
from datetime import timedelta

import pytest

from orchestrator.core.alarms import alarm_events
from orchestrator.core.events import AlarmEscalated, AlarmRaised, AlarmReturned, Event
from orchestrator.core.ids import ProbeId
from orchestrator.core.state import State
from orchestrator.engine.assess import Assessor
from orchestrator.ports.event_log import Reading
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.states import hardening, with_events

START = at("Fri 00:00")
FREEZER, FRIDGE = ProbeId("freezer-air"), ProbeId("fridge-air")
Curve = Callable[[int], float | None]


def told(probe: ProbeId, curve: Curve, length_min: int) -> list[tuple[int, Event]]:
    """What is put on record, by minute, when one probe is heard each minute, where the curve has a value."""
    kitchen = small_kitchen()
    assessor, state, found = Assessor(kitchen), hardening(kitchen), []
    for minute in range(length_min):
        now = START + timedelta(minutes=minute)
        celsius = curve(minute)
        if celsius is not None:
            assessor.fold(Reading(probe=probe, celsius=celsius, measured_at=now, recorded_at=now), state)
        assessor.silence(now, state)
        facts = {p: f for p, f in assessor.facts.items() if p == probe}
        events = alarm_events(State(seq=state.seq, kitchen=kitchen, alarms=state.alarms), facts, now)
        state = with_events(state, events, now)
        found += [(minute, event) for event in events]
    return found


def raised(found: list[tuple[int, Event]]) -> int:
    return sum(isinstance(event, AlarmRaised) for _, event in found)


@pytest.mark.parametrize("seed", range(8))
def test_freezer_that_lies_at_its_limit_all_night_is_told_once(seed: int) -> None:
    # The limit is −15 °C, its grace 20 min; the noise of a kitchen probe is about 0.2 K (common practice).
    luck = random.Random(seed)
    found = told(FREEZER, lambda _: -15.0 + luck.gauss(0, 0.2), 480)
    assert raised(found) == 1
    assert not [e for _, e in found if isinstance(e, AlarmReturned)]


@pytest.mark.parametrize("seed", range(8))
def test_freezer_that_warms_and_comes_back_is_told_once_missed_once_and_over_once(seed: int) -> None:
    luck = random.Random(seed)

    def curve(minute: int) -> float:
        return -18 + 6 * (1 - abs(minute - 200) / 200) + luck.gauss(0, 0.2)

    kinds = [event.kind for _, event in told(FREEZER, curve, 400)]
    assert kinds == ["alarm_raised", "alarm_escalated", "alarm_returned"]


@pytest.mark.parametrize("seed", range(6))
def test_no_time_outside_longer_than_the_grace_goes_by_without_its_miss(seed: int) -> None:
    luck = random.Random(seed)
    steps = [luck.choice([-18.0, -15.4, -14.9, -9.0]) for _ in range(40)]
    curve = [steps[minute // 15] + luck.gauss(0, 0.1) for minute in range(600)]
    found = told(FREEZER, lambda minute: curve[minute], 600)
    missed, standing, outside = set(), False, None
    by_minute: dict[int, list[Event]] = {}
    for minute, event in found:
        by_minute.setdefault(minute, []).append(event)
    for minute, celsius in enumerate(curve):
        for event in by_minute.get(minute, []):
            if isinstance(event, AlarmRaised | AlarmEscalated):
                standing = event.facts.missed
            if isinstance(event, AlarmReturned):
                standing = False
        if standing:
            missed.add(minute)
        outside = None if celsius <= -15.0 else minute if outside is None else outside
        if outside is not None and minute - outside >= 20:  # the grace of the small kitchen's freezer
            assert minute in missed, f"outside since minute {outside}, not told as missed at {minute}"


def test_probe_that_says_a_word_now_and_then_is_one_silence() -> None:
    # Silent after ten minutes; a word every thirteen.
    found = told(FRIDGE, lambda minute: 3.0 if minute < 5 or minute % 13 == 0 or minute > 200 else None, 260)
    assert [event.kind for _, event in found] == ["alarm_raised", "alarm_returned"]
    assert found[1][0] > 200


def test_probe_that_is_heard_again_is_over_when_it_has_been_for_as_long_as_silence_takes() -> None:
    found = told(FRIDGE, lambda minute: None if 5 < minute < 30 else 3.0, 60)
    assert [(minute, event.kind) for minute, event in found] == [(15, "alarm_raised"), (40, "alarm_returned")]
