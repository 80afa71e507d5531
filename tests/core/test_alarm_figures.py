"""Figures of alarms: against counting by hand, and against numpy and the standard library."""

import random
import statistics
from datetime import datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.core import alarm_figures
from orchestrator.core.alarm_figures import MOST, Figures, Tally, figures, most_within
from orchestrator.core.events import AlarmAcknowledged, AlarmEscalated, AlarmRaised, AlarmReturned, Event, Recorded
from orchestrator.core.ids import AlarmId, CommandId
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmKind, AlarmStatus, Priority
from tests.fakes.kitchens import at
from tests.fakes.states import COOK

START, NOW = at("Thu 10:00"), at("Fri 10:00")
WARM, LATE = AlarmId("store_warm:freezer"), AlarmId("task_late:C1.cook")


def facts(priority: Priority = Priority.WARNING) -> AlarmFacts:
    return AlarmFacts(kind=AlarmKind.STORE_WARM, priority=priority)


def log(*events: Event) -> list[Recorded]:
    def when(event: Event) -> datetime:
        return event.at  # type: ignore[union-attr]

    begins = AlarmReturned(alarm=AlarmId("task_late:before"), at=START)
    rows = [begins, *sorted(events, key=when)]
    return [Recorded(seq=n, at=when(e), command_id=CommandId(f"c{n}"), event=e) for n, e in enumerate(rows, 1)]


def raised(minute: float, alarm: AlarmId = WARM, priority: Priority = Priority.WARNING) -> AlarmRaised:
    return AlarmRaised(alarm=alarm, at=START + timedelta(minutes=minute), facts=facts(priority))


def over(minute: float, alarm: AlarmId = WARM) -> AlarmReturned:
    return AlarmReturned(alarm=alarm, at=START + timedelta(minutes=minute))


def of(*events: Event, alarms: tuple[Alarm, ...] = (), days: int = 7) -> Figures:
    tally = Tally()
    tally.take(log(*events))
    return figures(tally, alarms, NOW, days=days)


def test_figures_of_a_calm_day_are_nought() -> None:
    found = of()
    assert (found.since, found.until, found.total, found.most_in_ten) == (START, NOW, 0, 0)
    assert (found.in_ten, found.floods, found.frequent, found.seen_median_min) == (0.0, 0.0, (), None)
    assert sum(count for _, count in found.hours) == 0
    assert len(found.hours) == 25


def test_figures_before_any_event_do_not_divide_by_nothing() -> None:
    found = figures(Tally(), (), NOW, days=1)
    assert (found.total, found.in_ten, found.per_hour) == (0, 0.0, 0.0)


def test_average_is_by_ten_minutes_and_hour_over_the_time_of_the_log() -> None:
    # 144 periods of ten minutes in a day: one alarm in each is the standard's average that is very likely acceptable.
    found = of(*(raised(10 * n + 1, AlarmId(f"a:{n}")) for n in range(144)))
    assert found.in_ten == pytest.approx(1.0)
    assert found.per_hour == pytest.approx(6.0)
    assert found.most_in_ten == 1


def test_counts_per_hour_are_those_of_the_clocks_hours() -> None:
    found = of(raised(0.5), over(1), raised(59.5), raised(60, LATE))
    counts = dict(found.hours)
    assert (counts[START], counts[START + timedelta(hours=1)]) == (2, 1)


def test_flood_is_a_period_with_more_than_ten() -> None:
    ten = [raised(20 + n / 2, AlarmId(f"a:{n}")) for n in range(10)]
    assert of(*ten).floods == 0.0
    found = of(*ten, raised(25.2, AlarmId("a:10")))
    assert found.floods == pytest.approx(1 / 144)
    assert found.most_in_ten == 11


def test_shares_frequent_and_escalations() -> None:
    critical = AlarmEscalated(alarm=WARM, at=START + timedelta(minutes=20), facts=facts(Priority.CRITICAL))
    found = of(raised(10), critical, over(30), raised(90), raised(100, LATE, Priority.NOTICE))
    assert found.total == 4
    assert found.shares == {Priority.CRITICAL: 0.25, Priority.WARNING: 0.5, Priority.NOTICE: 0.25}
    assert [(f.alarm, f.count) for f in found.frequent] == [(WARM, 2), (LATE, 1)]
    assert found.frequent[0].share == pytest.approx(2 / 3)


def test_chattering_is_three_times_in_an_hour_and_fleeting_is_over_in_a_minute() -> None:
    chatter = [e for n in range(3) for e in (raised(10 + 29 * n), over(11 + 29 * n))]
    assert of(*chatter).chattering == ((WARM, 3),)
    assert of(*chatter).fleeting == ((WARM, 3),)
    slow = [e for n in range(3) for e in (raised(10 + 30 * n), over(11.1 + 30 * n))]
    assert (of(*slow).chattering, of(*slow).fleeting) == ((), ())


def test_acknowledged_after_is_the_median_and_what_nine_of_ten_stay_below() -> None:
    minutes = [2, 3, 4, 5, 6, 7, 8, 9, 10, 60]
    events: list[Event] = []
    for n, length in enumerate(minutes):
        alarm, start = AlarmId(f"a:{n}"), 100.0 * n
        seen_at = START + timedelta(minutes=start + length)
        events += [raised(start, alarm), AlarmAcknowledged(alarm=alarm, at=seen_at, person=COOK)]
    found = of(*events)
    assert (found.seen_median_min, found.seen_tenth_min) == (6, 10)


def _standing(name: str, hours: float, status: AlarmStatus = AlarmStatus.UNACKNOWLEDGED) -> Alarm:
    return Alarm(id=AlarmId(name), facts=facts(), status=status, raised_at=NOW - timedelta(hours=hours))


def test_longest_standing_stale_and_shelved_are_counted_from_the_record() -> None:
    gone = _standing("d", 90, AlarmStatus.RETURNED_UNACKNOWLEDGED)
    found = of(alarms=(_standing("a", 2), _standing("b", 25), _standing("c", 24, AlarmStatus.SHELVED), gone))
    assert [a.id for a in found.longest] == ["b", "c", "a"]
    assert [a.id for a in found.stale] == ["b"]
    assert (found.shelved, found.unseen) == (1, 3)


def test_only_the_days_asked_for_are_counted() -> None:
    tally = Tally()
    tally.take(log(raised(1), raised(1000, LATE)))
    later = START + timedelta(days=1, minutes=500)
    assert figures(tally, (), later, days=7).total == 2
    assert figures(tally, (), later, days=1).total == 1


def test_memory_is_bounded_and_the_figures_say_from_when_on_nothing_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    tally = Tally()
    events = [raised(n / 10, AlarmId(f"a:{n}")) for n in range(MOST + 500)]
    tally.take(log(*events))
    assert len(tally.told) == MOST
    found = figures(tally, (), NOW, days=7)
    assert found.since == events[500].at
    assert found.total == MOST


@settings(deadline=None)
@given(st.lists(st.integers(0, 300), max_size=60), st.integers(1, 60))
def test_most_within_is_what_every_stretch_counted_one_by_one_gives(minutes: list[int], span: int) -> None:
    instants = [START + timedelta(minutes=m) for m in sorted(minutes)]
    by_hand = max((sum(m <= other < m + span for other in minutes) for m in minutes), default=0)
    assert most_within(instants, timedelta(minutes=span)) == by_hand


def test_quantile_is_the_inverted_distribution_of_numpy_and_the_low_median_of_the_library() -> None:
    luck = random.Random(4)
    for count in range(1, 40):
        values = sorted(luck.uniform(0, 100) for _ in range(count))
        assert alarm_figures._quantile(values, 0.9) == np.quantile(values, 0.9, method="inverted_cdf")
        assert alarm_figures._quantile(values, 0.5) == statistics.median_low(values)
