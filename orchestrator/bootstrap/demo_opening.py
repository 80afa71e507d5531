"""Opens a demo: takes up what an earlier one left, or makes the days before, then starts everything."""

import asyncio
import logging
import socket
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from orchestrator.adapters.data_folder import DataFolder
from orchestrator.adapters.planner_process import PlannerProcess
from orchestrator.adapters.scaled_clock import ScaledClock
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.bootstrap import saved_demo
from orchestrator.bootstrap.first_look import FirstLook
from orchestrator.bootstrap.history import FirstWellThenQuick, History, make_history, wait_for_plan
from orchestrator.bootstrap.hooks import Hooks, app_of
from orchestrator.bootstrap.planner_child import serve_quick, serve_searches
from orchestrator.bootstrap.settings import Failure, Settings
from orchestrator.bootstrap.system import System, build
from orchestrator.core.models import Kitchen
from orchestrator.core.state import State
from orchestrator.kitchen import KitchenFaults, read_kitchen
from orchestrator.simulator.practice import Practice, restore
from orchestrator.simulator.probes import Publisher
from orchestrator.simulator.runner import Cast, cast_of
from orchestrator.simulator.troubles import BEFORE_A_RUN, CHURN_STOPS, DOOR_OPEN, LATE_COOK, PROBE_SILENT, next_run

LOG = logging.getLogger(__name__)
OPENS_AFTER, OPENS_BEFORE = timedelta(hours=32), timedelta(hours=56)
"""Planning starts on the first day at 6:00. The demo opens from 14:00 on the second day on, when bases are cooked and
chilled, as soon as a cook has something on a probe (see `history.something_to_watch`), at the latest a day later."""

OnProgress = Callable[[str, float], None]
"""Told what is being done, and how much of it is done, 0 to 1."""


@dataclass(frozen=True, slots=True)
class DemoOptions:
    """What a demo is told when it is started."""

    kitchen: Path
    data: Path | None = None
    port: int = 0
    """Of the screens; when it is taken, or 0, a free one is chosen."""
    speed: float = 60.0
    crew: bool = True
    variation: float = 1.0
    history: bool = True
    troubles: bool = True
    seed: int = 3
    fresh: bool = False
    planning_seconds: float = 3.0


@dataclass(slots=True)
class House:
    """An open demo."""

    system: System
    planner: PlannerProcess
    practice: Practice
    publishing: asyncio.Task[None]
    first_look: FirstLook

    def begin(self) -> None:
        """Let the clock go, once somebody looks."""
        self.first_look.begin()
        self.practice.start()

    async def close(self) -> None:
        """End everything; simulated time and heat are kept."""
        await asyncio.to_thread(self.practice.stop)
        self.publishing.cancel()
        await asyncio.gather(self.publishing, return_exceptions=True)
        await self.system.stop()
        await self.planner.close()


async def open_house(options: DemoOptions, on_progress: OnProgress) -> House:
    """Everything started but the clock, which stands.

    Raises:
        Failure: why it does not start; nothing is left running.
    """
    opening = _Opening(options, _read(options.kitchen), on_progress)
    opening.planner.start()
    try:
        return await opening.go_on(opening.earlier() or await opening.begin())
    except BaseException:
        await opening.planner.close()
        raise


def _read(folder: Path) -> Kitchen:
    try:
        return read_kitchen(folder)
    except KitchenFaults as faults:
        raise Failure(str(faults), 2) from faults


class _Opening:
    def __init__(self, options: DemoOptions, kitchen: Kitchen, on_progress: OnProgress) -> None:
        self.options = options
        self.kitchen = kitchen
        self.on_progress = on_progress
        self.settings = Settings(
            data=options.data or saved_demo.default_demo_folder(),
            kitchen=options.kitchen,
            port=free_port(options.port),
            practice=True,
            planning_seconds=options.planning_seconds,
            client_id="coldwright-practice",
        )
        self.files = DataFolder(self.settings.data)
        self.planner = PlannerProcess(serve_quick, serve_searches)

    def earlier(self) -> dict[str, Any] | None:
        """What an earlier demo left, unless it is to be forgotten or its week is over."""
        saved = None if self.options.fresh else saved_demo.load(self.settings.data)
        if saved is not None and self.files.event_log.exists() and self._before_the_end(saved):
            return saved
        self.files.take()  # a record in use is not removed
        try:
            saved_demo.forget(self.settings.data, (self.files.event_log, self.files.readings, self.files.state))
        finally:
            self.files.release()
        return None

    def _before_the_end(self, saved: dict[str, Any]) -> bool:
        try:
            return datetime.fromisoformat(saved["now"]) < week_end(self.kitchen)
        except (TypeError, ValueError):
            return False

    async def begin(self) -> dict[str, Any]:
        """A new week, with or without history."""
        start = self.kitchen.planning_start
        saved: dict[str, Any] = {"now": start.isoformat()}
        if self.options.history:
            history = History(
                settings=self.settings,
                planner=FirstWellThenQuick(self.planner, self.options.planning_seconds),
                start=start,
                until=(start + OPENS_AFTER, start + OPENS_BEFORE),
                seed=self.options.seed,
                variation=self.options.variation,
                on_progress=self.on_progress,
            )
            saved = await make_history(history)
        saved_demo.save(self.settings.data, saved)
        return saved

    def _goes_on_at(self, saved: dict[str, Any]) -> datetime:
        """Time never runs back: the later of what was kept and what was recorded."""
        now = datetime.fromisoformat(saved["now"])
        log = SqlEventLog(self.files.event_log, read_only=True)
        try:
            return max([now, *(record.at for record in log.read())])
        finally:
            log.close()

    async def go_on(self, saved: dict[str, Any]) -> House:
        """Start everything at the instant at which it was left."""
        clock = ScaledClock(await asyncio.to_thread(self._goes_on_at, saved), rate=0.0)
        first_look = FirstLook()
        hooks = Hooks(clock=clock, planner=self.planner)
        screens = app_of(hooks)
        system = build(self.settings, replace(hooks, app=lambda gateway: first_look.around(screens(gateway))))
        await system.start()
        try:
            self.on_progress("Planning the week", 0.0)
            await wait_for_plan(system)
            cast = self._cast(system, clock.now(), saved)
            return self._house(system, clock, cast, first_look)
        except BaseException:
            await system.stop()
            raise

    def _cast(self, system: System, now: datetime, saved: dict[str, Any]) -> Cast:
        cast = cast_of(system.gateway, now, seed=self.options.seed, variation=self.options.variation)
        if "physics" in saved:
            try:
                restore(cast, saved)
            except (KeyError, TypeError, ValueError) as error:
                LOG.warning("what was simulated before cannot be taken up (%r); heat and people begin anew", error)
                cast = cast_of(system.gateway, now, seed=self.options.seed, variation=self.options.variation)
        if self.options.troubles and not (cast.troubles.scheduled or cast.troubles.planted):
            cast.troubles.scheduled = schedule(system.engine.picture.state, now)
        cast.crew.on = self.options.crew
        return cast

    def _house(self, system: System, clock: ScaledClock, cast: Cast, first_look: FirstLook) -> House:
        publisher = Publisher(system.broker_url)
        practice = Practice(
            gateway=system.gateway,
            clock=clock,
            cast=cast,
            send=publisher.send,
            save=lambda values: saved_demo.save(self.settings.data, values),
            speed=self.options.speed,
            end=week_end(self.kitchen),
            begun=first_look.taken,
        )
        system.gateway.practice = practice
        publishing = asyncio.create_task(publisher.run(), name="thermometers")
        return House(system, self.planner, practice, publishing, first_look)


def week_end(kitchen: Kitchen) -> datetime:
    """Where the plan ends, and a demo with it."""
    return kitchen.planned_until


def schedule(state: State, now: datetime) -> dict[str, datetime]:
    """When the planted troubles come: spread over the first hours, the churn's just before it is needed."""
    run = next_run(state, "churn", now + timedelta(hours=1))
    return {
        PROBE_SILENT: now + timedelta(minutes=40),
        DOOR_OPEN: now + timedelta(minutes=100),
        LATE_COOK: now + timedelta(hours=3),
        CHURN_STOPS: (run or now + timedelta(hours=6)) - BEFORE_A_RUN,
    }


def free_port(wished: int) -> int:
    """The wished port if it is free on the loopback, else 0: any free one."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", wished))
        except OSError:
            return 0
    return wished
