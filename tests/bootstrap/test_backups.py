"""When backups are made by themselves: in the quiet hour, soon after a late start, again after a failure."""

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime, time, timedelta
from pathlib import Path

import pytest

from orchestrator.adapters.backup import Places
from orchestrator.adapters.backup_rota import take
from orchestrator.bootstrap.backups import Backups, next_quiet
from tests.adapters.test_backup import kept as record_of_ten  # noqa: F401 - a fixture

THREE = time(3, 0)


@pytest.mark.parametrize(
    ("now", "zone", "at", "expected"),
    [
        ("2026-11-29T14:00+00:00", "Europe/London", THREE, "2026-11-30T03:00+00:00"),
        ("2026-11-29T02:59+00:00", "Europe/London", THREE, "2026-11-29T03:00+00:00"),
        ("2026-11-29T03:00+00:00", "Europe/London", THREE, "2026-11-30T03:00+00:00"),
        ("2026-06-01T12:00+00:00", "America/New_York", THREE, "2026-06-02T07:00+00:00"),
        # Clocks go back in Europe at 01:00 UTC on 25 October 2026: 01:30 comes twice in London, the backup once.
        # Source: Directive 2000/84/EC (last Sunday of October, 01:00 UTC), which UK law follows.
        ("2026-10-24T12:00+00:00", "Europe/London", time(1, 30), "2026-10-25T00:30+00:00"),
        ("2026-10-25T00:30+00:00", "Europe/London", time(1, 30), "2026-10-26T01:30+00:00"),
    ],
)
def test_next_quiet_is_that_local_time_once_a_day(now: str, zone: str, at: time, expected: str) -> None:
    assert next_quiet(datetime.fromisoformat(now), zone, at) == datetime.fromisoformat(expected)


class Timer:
    """Rings when told to."""

    def __init__(self) -> None:
        self.at: datetime | None = None
        self.ring: Callable[[], None] = lambda: None

    def __call__(self, ring: Callable[[], None]) -> "Timer":
        self.ring = ring
        return self

    def arm(self, at: datetime | None) -> None:
        self.at = at

    def arm_in(self, span: timedelta) -> None:
        raise NotImplementedError

    def close(self) -> None:
        self.at = None


async def until(condition: Callable[[], bool]) -> None:
    async with asyncio.timeout(120):
        while not condition():
            await asyncio.sleep(0.02)


def backups(source: Places, folder: Path, timer: Timer) -> Backups:
    return Backups(
        source,
        folder,
        keep=2,
        at=THREE,
        zone=lambda: "Europe/London",
        now=lambda: datetime.now(UTC),
        timers=timer,
    )


async def test_run_first_start_makes_one_soon_then_in_the_quiet_hour(record_of_ten: Places, tmp_path: Path) -> None:  # noqa: F811
    timer = Timer()
    kept = backups(record_of_ten, tmp_path / "backups", timer)
    running = asyncio.create_task(kept.run())
    await until(lambda: timer.at is not None)
    assert timer.at is not None
    assert timer.at - datetime.now(UTC) < timedelta(minutes=3)
    assert kept.book.last is None
    timer.ring()
    await until(lambda: kept.book.last is not None)
    await until(lambda: timer.at is not None and timer.at - datetime.now(UTC) > timedelta(minutes=3))
    assert timer.at == next_quiet(datetime.now(UTC), "Europe/London", THREE)
    assert (kept.book.kept, kept.book.failed) == (1, "")
    running.cancel()
    await asyncio.gather(running, return_exceptions=True)


async def test_run_with_a_fresh_one_waits_for_the_quiet_hour(record_of_ten: Places, tmp_path: Path) -> None:  # noqa: F811
    take(record_of_ten, tmp_path / "backups", 2, datetime.now(UTC) - timedelta(hours=5))
    timer = Timer()
    running = asyncio.create_task(backups(record_of_ten, tmp_path / "backups", timer).run())
    await until(lambda: timer.at is not None)
    assert timer.at == next_quiet(datetime.now(UTC), "Europe/London", THREE)
    running.cancel()
    await asyncio.gather(running, return_exceptions=True)


async def test_make_that_fails_says_why_and_is_tried_again_within_the_hour(
    record_of_ten: Places,  # noqa: F811
    tmp_path: Path,
) -> None:
    (tmp_path / "backups").write_text("no folder")
    timer = Timer()
    kept = backups(record_of_ten, tmp_path / "backups", timer)
    running = asyncio.create_task(kept.run())
    await until(lambda: timer.at is not None)
    timer.ring()
    await until(lambda: kept.book.failed != "")
    assert "name another folder for backups" in kept.book.failed
    await until(lambda: timer.at is not None and timer.at - datetime.now(UTC) > timedelta(minutes=3))
    assert timer.at is not None
    assert timer.at - datetime.now(UTC) <= timedelta(hours=1)
    running.cancel()
    await asyncio.gather(running, return_exceptions=True)
