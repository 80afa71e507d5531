"""Pauses after wrong secrets, limits on what comes too often, and notes of refused acts: all bounded."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest

from display.access import notes
from display.access.brake import APART_S, CROWD, CROWD_S, FORGOTTEN_S, FREE, LONGEST_S, MOST_KEYS, Brake, Rate
from display.access.notes import Notes
from orchestrator.ports.access import REASONS, Caller, RefusedAct, Role
from orchestrator.ports.event_log import LogUnavailable


class Clock:
    """Seconds that a test moves on."""

    def __init__(self) -> None:
        self.s = 5000.0

    def __call__(self) -> float:
        return self.s


@pytest.fixture
def clock() -> Clock:
    return Clock()


def test_pauses_double_from_the_fourth_slip_on_up_to_the_longest(clock: Clock) -> None:
    brake, waits = Brake(clock), []
    for _ in range(14):
        waits.append(brake.wait_s("a", known=True))
        clock.s += waits[-1]
        brake.slipped("a")
    assert waits[: FREE + 1] == [0] * (FREE + 1)
    assert waits[FREE + 1 :] == [min(LONGEST_S, 2.0**n) for n in range(1, 11)]


def test_slips_of_one_hinder_no_other_and_a_right_one_forgets_them(clock: Clock) -> None:
    brake = Brake(clock)
    for _ in range(6):
        brake.slipped("a")
    assert (brake.wait_s("a"), brake.wait_s("b")) == (8, 0)
    brake.passed("a")
    assert brake.wait_s("a") == 0


def test_slips_of_long_ago_are_forgotten(clock: Clock) -> None:
    brake = Brake(clock)
    for _ in range(9):
        brake.slipped("a")
    clock.s += FORGOTTEN_S + 1
    brake.slipped("a")
    assert brake.wait_s("a") == 0


def test_crowd_of_slips_spaces_strangers_and_ends_by_itself(clock: Clock) -> None:
    brake = Brake(clock)
    for number in range(CROWD + 1):
        brake.slipped(str(number))
    assert (brake.wait_s("new"), brake.wait_s("new", known=True)) == (APART_S, 0)
    clock.s += APART_S
    assert brake.wait_s("new") == 0, "one try, then the next pause"
    brake.slipped("new")
    assert brake.wait_s("another") == APART_S
    clock.s += CROWD_S + 1
    assert brake.wait_s("another") == 0


def test_brake_and_rate_keep_a_bounded_number_of_keys(clock: Clock) -> None:
    brake, rate = Brake(clock), Rate(1, 60, clock)
    for number in range(MOST_KEYS + 50):
        brake.slipped(str(number))
        rate.take(str(number))
    assert (len(brake._slips), len(rate._times)) == (MOST_KEYS, MOST_KEYS)


def test_rate_lets_so_many_through_and_says_when_the_next_may_come(clock: Clock) -> None:
    rate = Rate(2, 60, clock)
    assert rate.take("a") == 0
    clock.s += 20
    assert [rate.take("a"), rate.take("a"), rate.take("b")] == [0, 40, 0]
    clock.s += 40
    assert [rate.take("a"), rate.take("a")] == [0, 20]


class Lines:
    """As much of a store as notes need."""

    def __init__(self) -> None:
        self.lines: list[RefusedAct] = []
        self.again: list[tuple[int, int]] = []
        self.broken = False

    def note(self, refused: RefusedAct) -> int:
        if self.broken:
            raise LogUnavailable("disk full")
        self.lines.append(refused)
        return len(self.lines)

    def noted_again(self, number: int, count: int, at: datetime) -> None:
        self.again.append((number, count))


def book(lines: Lines, clock: Clock) -> Notes:
    start = datetime(2026, 11, 26, tzinfo=UTC)
    return Notes(lines, lambda: start + timedelta(seconds=clock.s), clock)  # type: ignore[arg-type]


def refuse(told: Notes, times: int, source: str = "192.0.2.7", reason: str = "role") -> None:
    for _ in range(times):
        told.refused(source, Caller("screen", "Window", Role.VIEWER), "POST /acts/seen", reason)


def test_notes_put_the_same_of_a_minute_into_one_line(clock: Clock) -> None:
    lines = Lines()
    told = book(lines, clock)
    refuse(told, 100)
    assert [(one.who, one.count) for one in lines.lines] == [("Window", 1)]
    assert lines.again == [(1, 2), (1, 4), (1, 8), (1, 16), (1, 32), (1, 64)], "a flood of 100 costs seven writes"
    clock.s += 60
    refuse(told, 1)
    assert len(lines.lines) == 2
    assert told.counts == {"role": 101}


def test_notes_of_ever_other_sources_are_bounded_by_the_hour_and_counted_on(clock: Clock) -> None:
    lines = Lines()
    told = book(lines, clock)
    for number in range(notes.MOST_LINES + 100):
        refuse(told, 1, source=f"2001:db8::{number:x}")
    assert len(lines.lines) == notes.MOST_LINES
    assert told.counts["role"] == notes.MOST_LINES + 100
    clock.s += notes.HOUR_S
    refuse(told, 1, source="2001:db8::ffff")
    assert len(lines.lines) == notes.MOST_LINES + 1


def test_notes_that_cannot_be_written_are_counted_and_stop_nobody(
    clock: Clock, caplog: pytest.LogCaptureFixture
) -> None:
    lines = Lines()
    lines.broken = True
    told = book(lines, clock)
    refuse(told, 2)
    assert told.counts == {"role": 2}
    assert "could not be written down: disk full" in caplog.text


def _words(language: str) -> Sequence[str]:
    from display.words import TABLES

    return [reason for reason in REASONS if f"reason_{reason.replace(' ', '_')}" not in TABLES[language]]


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_reason_has_its_words(language: str) -> None:
    assert _words(language) == []
