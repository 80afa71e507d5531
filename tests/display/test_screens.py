"""Stale screens are found out: who falls silent, and who shows what is no longer so."""

import json
from typing import Any

import pytest

from display.screens import FORGOTTEN_S, MOST, STALE_S, ScreenBook


class Clock:
    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def book(clock: Clock) -> ScreenBook:
    return ScreenBook(clock)


def told(screen: str = "0" * 32, page: str = "/station/stove", seq: int = 5, state: str = "shown") -> bytes:
    return json.dumps({"screen": screen, "page": page, "seq": seq, "state": state}).encode()


def states(book: ScreenBook, head: int = 5) -> list[tuple[str, str, int]]:
    return [(one.page, one.state, one.behind) for one in book.standing(head)]


def test_screen_that_tells_is_there_and_silent_after_a_minute(book: ScreenBook, clock: Clock) -> None:
    assert book.hear(told(), 5)
    clock.now += STALE_S
    assert states(book) == [("/station/stove", "shown", 0)]
    clock.now += 1
    assert states(book) == [("/station/stove", "silent", 0)]
    assert [one.stale for one in book.standing(5)] == [True]
    assert book.hear(told(), 5)
    assert states(book) == [("/station/stove", "shown", 0)]


def test_screen_that_holds_an_old_state_is_behind_although_it_is_heard(book: ScreenBook, clock: Clock) -> None:
    for _ in range(6):
        assert book.hear(told(seq=5), 9)
        clock.now += 15
    assert states(book, 9) == [("/station/stove", "behind", 4)]
    assert book.hear(told(seq=9), 9)
    assert states(book, 9) == [("/station/stove", "shown", 0)]


def test_screen_that_follows_a_busy_log_is_not_behind(book: ScreenBook, clock: Clock) -> None:
    for n in range(12):
        assert book.hear(told(seq=5 + n), 6 + n)
        clock.now += 15
    assert states(book, 17) == [("/station/stove", "shown", 1)]


def test_screen_in_the_background_is_not_stale_and_one_that_left_is_gone(book: ScreenBook, clock: Clock) -> None:
    book.hear(told(state="hidden"), 5)
    book.hear(told(screen="1" * 32, page="/board", state="shown"), 5)
    book.hear(told(screen="1" * 32, page="/board", state="left"), 5)
    clock.now += 3600
    assert states(book) == [("/station/stove", "hidden", 0)]


def test_screen_that_goes_to_another_page_is_the_same_screen(book: ScreenBook) -> None:
    book.hear(told(), 5)
    book.hear(told(state="left"), 5)
    book.hear(told(page="/board"), 5)
    assert states(book) == [("/board", "shown", 0)]


def test_screens_are_forgotten_after_a_day_and_never_more_than_bounded(book: ScreenBook, clock: Clock) -> None:
    book.hear(told(), 5)
    clock.now += FORGOTTEN_S + 1
    for n in range(MOST + 20):
        book.hear(told(screen=f"{n:032x}", page="/board"), 5)
    assert len(book.standing(5)) == MOST
    assert "/station/stove" not in {one.page for one in book.standing(5)}


@pytest.mark.parametrize(
    "nonsense",
    [
        b"",
        b"[]",
        b"{}",
        b"\xff\xfe",
        told(screen="<b>"),
        told(page="http://elsewhere.example/"),
        told(state="dancing"),
        json.dumps({"screen": "0" * 32, "page": "/", "seq": "5", "state": "shown"}).encode(),
    ],
)
def test_nonsense_is_turned_away(book: ScreenBook, nonsense: Any) -> None:
    assert not book.hear(nonsense, 5)
    assert states(book) == []
