"""``coldwright display``: the screens of a kitchen that another process writes, from a PostgreSQL database."""

import asyncio
import contextlib
import logging
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Literal

from orchestrator.adapters.access_store import SqlAccessStore
from orchestrator.adapters.prometheus_meter import PrometheusMeter
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.adapters.sql_readings import SqlReadings
from orchestrator.adapters.sql_relay import SqlRelay
from orchestrator.adapters.system_clock import SystemClock
from orchestrator.bootstrap import logs
from orchestrator.bootstrap.gauges import gauges
from orchestrator.bootstrap.hooks import Hooks, app_of, core_rules, planner_of
from orchestrator.bootstrap.serve import first_of, stop_signal
from orchestrator.bootstrap.settings import Certificate, Failure, Settings, is_loopback
from orchestrator.bootstrap.watchdog import LoopGuard, Systemd
from orchestrator.bootstrap.web_server import WebServer
from orchestrator.engine.follower import Follower
from orchestrator.gateway.local import LocalGateway
from orchestrator.gateway.vitals import Check, Vitals
from orchestrator.kitchen.recipe_text import YamlRecipes
from orchestrator.ports.event_log import LogUnavailable
from orchestrator.ports.probes import RejectedCounts

LOG = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Showing:
    """Where it listens, and whose screens it shows."""

    database: str
    host: str = "127.0.0.1"
    port: int = 0
    certificate: Certificate | None = None
    """With it the screens speak TLS only."""
    planner: Literal["children", "database"] = "children"
    """Who answers questions (why, what if) asked at these screens."""
    log_format: Literal["text", "json"] = "text"


class DisplayOnly:
    """The screens of a kitchen; acts go to whoever writes it, wherever that is."""

    web: WebServer
    gateway: LocalGateway
    follower: Follower

    def __init__(self, told: Showing, hooks: Hooks | None = None) -> None:
        """Nothing is opened yet."""
        self._told = told
        self._hooks = hooks or Hooks()
        self._ends = contextlib.AsyncExitStack()
        self._rejected = RejectedCounts()
        self._following: asyncio.Task[None] | None = None

    async def start(self) -> None:
        """Open, replay, and show. Raises: Failure, with nothing left running."""
        try:
            await self._start()
        except BaseException as error:
            await self.stop()
            if isinstance(error, LogUnavailable):
                raise Failure(str(error)) from error
            raise

    async def _start(self) -> None:
        url = self._told.database
        log = await asyncio.to_thread(SqlEventLog, url, read_only=True)
        self._ends.callback(log.close)
        readings = await asyncio.to_thread(SqlReadings, url)
        self._ends.callback(readings.close)
        relay = await asyncio.to_thread(SqlRelay, url)
        self._ends.callback(relay.close)
        access = await asyncio.to_thread(SqlAccessStore, url)
        self._ends.callback(access.close)
        if not is_loopback(self._told.host) and not await asyncio.to_thread(access.has_passphrase):
            raise Failure("without a passphrase it listens on this machine only: set one with 'coldwright passphrase'")
        planner = planner_of(self._hooks, Settings(data=Path(), database=url, planner=self._told.planner))
        if self._hooks.planner is None:
            self._ends.push_async_callback(planner.close)
        clock = self._hooks.clock or SystemClock()
        self.follower = Follower(
            rules=core_rules(), log=log, readings=readings, clock=clock, planner=planner, relay=relay
        )
        self._ends.push_async_callback(self.follower.stop)
        await self.follower.start()
        self._following = asyncio.create_task(self.follower.run(), name="follower")
        self._ends.push_async_callback(self._end_following)
        await self._start_web(log, readings, access)

    async def _start_web(self, log: SqlEventLog, readings: SqlReadings, access: SqlAccessStore) -> None:
        self._ends.callback(self.follower.follow(self._take_counts))
        meter = PrometheusMeter()
        meter.read_off(gauges(self.vitals, lambda: self.follower.picture, self._rejected))
        self.gateway = LocalGateway(
            self.follower,
            log,
            readings,
            asyncio.get_running_loop(),
            recipe_texts=YamlRecipes(),
            rejected=self._rejected,
            broker_url=lambda: self.follower.says.broker_url,
            vitals=self.vitals,
            metrics=meter.text,
        )
        make_app = await asyncio.to_thread(app_of, self._hooks, access)
        self.web = WebServer(make_app(self.gateway), self._told.host, self._told.port, self._told.certificate)
        self._ends.push_async_callback(self.web.stop)
        await self.web.start()

    def vitals(self) -> Vitals:
        """What a display process knows: whether it follows, and whether the writer is heard."""
        picture, says = self.follower.picture, self.follower.says
        trouble = self.follower.log_trouble
        follows = self._following is not None and not self._following.done()
        ok = picture.linked and follows
        log = Check("log", ok, True, "log_written" if ok else "log_refuses", {} if ok else {"trouble": trouble or "?"})
        return Vitals(checks=(log,), version=version("coldwright"), seq=picture.state.seq, broker=says.broker_url)

    def _take_counts(self) -> None:
        says = self.follower.says
        self._rejected.by_reason, self._rejected.last = dict(says.rejected), dict(says.rejected_last)

    async def _end_following(self) -> None:
        if self._following is not None:
            self._following.cancel()
            await asyncio.gather(self._following, return_exceptions=True)

    async def stop(self) -> None:
        """End everything in the reverse order. Harmless to repeat."""
        await self._ends.aclose()


def show(told: Showing, say: Callable[[str], None] = print) -> int:
    """Show until SIGINT or SIGTERM. Returns: exit status; 0, 1 refused."""
    logs.set_up(told.log_format)
    try:
        asyncio.run(_show(told, say))
    except Failure as failure:
        say(failure.text)
        return failure.status
    return 0


async def _show(told: Showing, say: Callable[[str], None]) -> None:
    stopping, manager, screens = stop_signal(), Systemd(), DisplayOnly(told)
    watching = [asyncio.create_task(LoopGuard().run()), asyncio.create_task(manager.ping(lambda: ""))]
    try:
        if not await first_of(screens.start(), stopping.wait()):
            return
        kitchen = screens.follower.picture.state.kitchen
        say(f"{kitchen.name if kitchen else 'Coldwright'}: {screens.web.url}, written by another process")
        manager.tell("READY=1")
        await stopping.wait()
    finally:
        for task in watching:
            task.cancel()
        await screens.stop()
