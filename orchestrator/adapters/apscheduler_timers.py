"""The timer of a real kitchen: one APScheduler job, and a tick that notices when the wall clock is stepped."""

import asyncio
import logging
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from apscheduler.schedulers.asyncio import AsyncIOScheduler

LOG = logging.getLogger(__name__)
_JOB = "next-due"
_TICK_S = 1.0
_STEP_S = 0.5
"""A wall clock that moved this much against the monotonic one was stepped (by NTP, or by hand)."""


class ApschedulerTimers:
    """Implements `ports.clock.Timers` on the running loop.

    APScheduler drops a job that is later than its grace time: the grace is None, so that a late job runs late.
    It sleeps until a moment computed once: after a step of the wall clock the tick makes it look again.
    """

    def __init__(
        self,
        callback: Callable[[], None],
        *,
        wall: Callable[[], float] = time.time,
        monotonic: Callable[[], float] = time.monotonic,
        tick_s: float = _TICK_S,
    ) -> None:
        """Start the scheduler on the running loop, in which the callback is called."""
        self._callback = callback
        self._wall = wall
        self._monotonic = monotonic
        self._tick_s = tick_s
        self._loop = asyncio.get_running_loop()
        self._scheduler = AsyncIOScheduler(
            event_loop=self._loop,
            timezone=UTC,
            job_defaults={"misfire_grace_time": None, "coalesce": True, "max_instances": 1},
        )
        self._scheduler.start()
        self._offset_s = wall() - monotonic()
        self._ticker = self._loop.call_later(tick_s, self._tick)
        self._span: asyncio.TimerHandle | None = None
        self._closed = False

    def arm(self, at: datetime | None) -> None:
        """Call back at that instant, or never; replaces what was armed before. Loop thread only."""
        if self._closed:
            return
        self._forget_span()
        if at is None:
            if self._scheduler.get_job(_JOB) is not None:
                self._scheduler.remove_job(_JOB)
            return
        self._scheduler.add_job(self._ring, "date", run_date=at, id=_JOB, replace_existing=True)

    def arm_in(self, span: timedelta) -> None:
        """Call back after so long by the loop's own count, which nobody sets. Loop thread only."""
        self.arm(None)
        if not self._closed:
            self._span = self._loop.call_later(span.total_seconds(), self._call_back)

    def _forget_span(self) -> None:
        if self._span is not None:
            self._span.cancel()
            self._span = None

    async def _ring(self) -> None:  # a coroutine: plain functions would be run in a thread
        # Called after this job has ended: one that is armed in the callback must not count as a second instance.
        self._loop.call_soon(self._call_back)

    def _call_back(self) -> None:
        if not self._closed:
            self._callback()

    def _tick(self) -> None:
        offset_s = self._wall() - self._monotonic()
        if abs(offset_s - self._offset_s) > _STEP_S:
            LOG.warning("the computer's clock was set by %+.1f s; timers are armed anew", offset_s - self._offset_s)
            self._scheduler.wakeup()
        self._offset_s = offset_s
        self._ticker = self._loop.call_later(self._tick_s, self._tick)

    def close(self) -> None:
        """Disarm for good."""
        if self._closed:
            return
        self._closed = True
        self._forget_span()
        self._ticker.cancel()
        self._scheduler.shutdown(wait=False)
