"""Everything wired together on one loop: storage, broker, planner, engine, gateway, screens."""

import asyncio
import contextlib
import gc
import logging
import sys
from collections.abc import Coroutine
from functools import partial
from typing import Any

from orchestrator.adapters.access_store import SqlAccessStore
from orchestrator.adapters.backup import Places
from orchestrator.adapters.mqtt_address import MqttAddress
from orchestrator.adapters.mqtt_probes import MqttProbes
from orchestrator.adapters.mqtt_status import MqttStatus
from orchestrator.adapters.prometheus_meter import PrometheusMeter
from orchestrator.adapters.rejected import count_repeats
from orchestrator.adapters.scaled_clock import ScaledClock
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.adapters.sql_readings import SqlReadings
from orchestrator.adapters.sql_relay import SqlRelay
from orchestrator.adapters.state_snapshot import StateSnapshot
from orchestrator.bootstrap.backups import Backups
from orchestrator.bootstrap.clock_record import ClockRecord, behind_s
from orchestrator.bootstrap.first_start import take_over
from orchestrator.bootstrap.gauges import gauges
from orchestrator.bootstrap.hooks import (
    Hooks,
    app_of,
    clock_of,
    compose_of,
    load_all,
    notifier_of,
    planner_of,
    rules_of,
    timers_of,
)
from orchestrator.bootstrap.keeper import Keeper
from orchestrator.bootstrap.own_broker import own_broker
from orchestrator.bootstrap.proving import Proving
from orchestrator.bootstrap.self_watch import SelfWatch, Watched
from orchestrator.bootstrap.settings import EMBEDDED, NONE, Failure, Settings, is_loopback
from orchestrator.bootstrap.vital_checks import BUSY_S
from orchestrator.bootstrap.web_server import WebServer
from orchestrator.core.models import Kitchen
from orchestrator.engine import DeskSettings, Engine
from orchestrator.engine.calling import Caller
from orchestrator.engine.relaying import Relayed
from orchestrator.gateway.local import LocalGateway
from orchestrator.gateway.vitals import Vitals
from orchestrator.kitchen.recipe_text import YamlRecipes
from orchestrator.kitchen.setting_up import WatchedFolder
from orchestrator.ports.access import AccessStore
from orchestrator.ports.event_log import LogUnavailable
from orchestrator.ports.planning import Planner
from orchestrator.ports.probes import Broker, ProbeFeed, RejectedCounts
from orchestrator.ports.relay import WriterSays

LOG = logging.getLogger(__name__)
_BROKER_LOOKED_AT_EVERY_S = 1.0
_FAREWELL_S = 3.0
_SWITCH_S = 0.001
"""After which a thread makes room for another that waits for the interpreter."""


class System:
    """A running kitchen. Start and stop it in one loop; after `start` the parts are there to be used.

    `engine` and `gateway` are how it is acted on, `broker_url` is where probes publish, `url` where people look.
    """

    engine: Engine
    gateway: LocalGateway
    watch: SelfWatch
    web: WebServer | None = None

    def __init__(self, settings: Settings, hooks: Hooks | None = None) -> None:
        """Decide what is used; nothing is opened or started yet.

        Raises:
            Failure: the address of the database is none, or the own broker would let everybody in.
        """
        self.settings = settings
        self.hooks = hooks or Hooks()
        self.clock = clock_of(self.hooks)
        self.rejected = RejectedCounts()
        try:
            self._keeper = Keeper(settings)
        except LogUnavailable as error:
            raise Failure(str(error), 2) from error
        if settings.planner == "database" and not settings.database:
            raise Failure("workers elsewhere plan through a database: name one in COLDWRIGHT_DATABASE", 2)
        self._broker: Broker | None = own_broker(settings) if settings.broker == EMBEDDED else None
        self._tasks: list[asyncio.Task[None]] = []
        self._ends = contextlib.AsyncExitStack()
        self._mqtt: MqttAddress | None = None
        self._access: AccessStore | None = None
        self._feed: ProbeFeed | None = None
        self._edited: tuple[str, ...] = ()
        self._meter = PrometheusMeter()

    @property
    def url(self) -> str:
        """Of the screens; empty without them."""
        return self.web.url if self.web is not None else ""

    @property
    def broker_url(self) -> str:
        """Of the broker, without user and password; empty without one."""
        return self._mqtt.shown() if self._mqtt is not None else ""

    async def lost(self) -> str:
        """Wait until another service writes this kitchen instead. Returns: why, for people."""
        return await self._keeper.lost()

    def why_dead(self) -> str:
        """Why this process should be started again: its writer stands or ended; empty while it works or only waits."""
        engine = getattr(self, "engine", None)
        if engine is None or not engine.begun:
            return ""  # on standby, or still starting
        if engine.busy_s > BUSY_S:
            return f"a commit has not ended for {engine.busy_s:.0f} s"
        return "" if engine.working else engine.log_trouble or "a task of the engine ended"

    async def start(self) -> None:
        """Open, replay, take over the kitchen at the first start, and begin to work.

        Raises:
            Failure: why it does not start; nothing is left running.
        """
        try:
            await self._start()
        except BaseException as error:
            await self.stop()
            if isinstance(error, LogUnavailable | OSError):
                raise Failure(str(error)) from error
            raise

    async def _start(self) -> None:
        # What is begun first ends last: the stack undoes it in reverse, also after a failure half-way.
        planner = await self._stand_by() if self.settings.standby else None
        await self._keeper.take()
        self._ends.callback(self._keeper.release)
        log = SqlEventLog(self._keeper.event_log, holder=self._keeper.holder)
        self._ends.callback(log.close)
        found_behind_s = behind_s(log.last_at, self.clock)
        readings = SqlReadings(self._keeper.readings)
        self._ends.callback(readings.close)
        await self._open_access()
        await self._start_broker()
        planner = planner or self._planner()
        self.engine = self._engine(log, readings, planner)
        self._ends.push_async_callback(self.engine.stop)
        await self.engine.start()
        self._clock_record = ClockRecord(self.engine.submit)
        self._clock_record.moved(-found_behind_s, while_away=True)
        self._follow_clock()
        if not self.settings.first_run or self._kitchen() is not None:
            self._edited = await take_over(self.engine, self.settings.kitchen)
        self.gateway = LocalGateway(
            self.engine,
            log,
            readings,
            asyncio.get_running_loop(),
            recipe_texts=YamlRecipes(),
            kitchen_folder=WatchedFolder(self.settings.kitchen) if self.settings.kitchen is not None else None,
            rejected=self.rejected,
            broker_url=lambda: self.broker_url,
            practice=self.settings.practice,
            vitals=self._vitals,
            metrics=self._meter.text,
        )
        self._ends.push_async_callback(self._end_tasks)
        self._start_mqtt()
        self._start_watch(log, planner)
        self._start_relay()
        self._start_calls()
        self._run(self._keeper.watch(), "writer watch")
        self._run(self._keeper.tidy(readings, self.clock.now, self._access), "tidying")
        await self._start_web()
        self._ease_the_loop()
        self.watch.started()

    async def _stand_by(self) -> Planner:
        """Load and start beforehand what needs no record: whoever waits for the screens waits for none of it."""
        planner = self._planner()
        await asyncio.to_thread(load_all, self.hooks)
        return planner

    def _planner(self) -> Planner:
        planner = planner_of(self.hooks, self.settings)
        if self.hooks.planner is None:
            self._ends.push_async_callback(planner.close)
        return planner

    def _engine(self, log: SqlEventLog, readings: SqlReadings, planner: Planner) -> Engine:
        return Engine(
            rules=rules_of(self.hooks),
            log=log,
            readings=readings,
            clock=self.clock,
            timers=timers_of(self.hooks, self.clock),
            planner=planner,
            desk=self.hooks.desk or DeskSettings(seconds=self.settings.planning_seconds),
            on_repeats=partial(count_repeats, self.rejected),
            snapshots=self._snapshots(log),
            meter=self._meter,
        )

    def _snapshots(self, log: SqlEventLog) -> StateSnapshot | None:
        """None under rules of somebody else's: what is kept is known by core's own code."""
        if self._keeper.state is None or self.hooks.rules is not None:
            return None
        return StateSnapshot(self._keeper.state, log.chain_at)

    def _ease_the_loop(self) -> None:
        """Let neither other threads nor the garbage collector hold it up."""
        # Threads that decide, check and render take turns with the loop: it waits so long for each of them that is at
        # work. Two of them held it up for 9 ms, in the median, at Python's own 5 ms, and for 1 ms at this.
        self._ends.callback(sys.setswitchinterval, sys.getswitchinterval())
        sys.setswitchinterval(_SWITCH_S)
        # What was loaded to start with stays: Python's garbage collector would look through all of it again and
        # again, each time 40 to 80 ms in which the loop stands still.
        self._ends.callback(gc.unfreeze)
        gc.collect()
        gc.freeze()

    async def _open_access(self) -> None:
        """Who may come in. A demo is open for good; whoever else listens beyond this machine has a passphrase first."""
        if self.settings.practice:
            return
        store = await asyncio.to_thread(SqlAccessStore, self._keeper.access)
        self._ends.callback(store.close)
        self._access = store
        if not is_loopback(self.settings.host) and not await asyncio.to_thread(store.has_passphrase):
            raise Failure(
                f"without a passphrase it listens on this machine only, and {self.settings.host} is beyond it: "
                "set one with 'coldwright passphrase', then start again"
            )

    async def _start_broker(self) -> None:
        if self._broker is not None:
            await asyncio.to_thread(self._broker.start)
            self._ends.push_async_callback(asyncio.to_thread, self._broker.stop)
            self._mqtt = MqttAddress.parse(self._broker.url())
        elif self.settings.broker != NONE:
            try:
                self._mqtt = MqttAddress.parse(self.settings.broker)
            except ValueError as error:
                raise Failure(str(error), 2) from error

    def _follow_clock(self) -> None:
        if not isinstance(self.clock, ScaledClock):
            return
        loop = asyncio.get_running_loop()

        def changed() -> None:
            if not loop.is_closed():
                loop.call_soon_threadsafe(self.engine.touch)

        self._ends.callback(self.clock.follow(changed))

    def _kitchen(self) -> Kitchen | None:
        return self.engine.picture.state.kitchen

    def _start_mqtt(self) -> None:
        if self._mqtt is None:
            return
        prefix = self.settings.client_id
        self._feed = MqttProbes(self._mqtt, self._kitchen, self.clock, self.rejected, f"{prefix}-probes")
        status = MqttStatus(
            self._mqtt,
            lambda: self.engine.picture.state.alarms,
            practice=self.settings.practice,
            identifier=f"{prefix}-status",
        )
        self._ends.callback(self.engine.follow(status.changed))
        self._run(self._feed.run(self.engine.on_readings), "probes")
        self._run(status.run(), "status")
        if self._broker is not None:
            self._run(self._keep_broker(self._broker), "broker watch")

    def _vitals(self) -> Vitals:
        return self.watch.vitals()  # made after the gateway: it looks at what is started later

    def _start_watch(self, log: SqlEventLog, planner: Planner) -> None:
        backups = self._backups()
        proving = None if self.settings.practice else Proving(self._keeper.event_log)
        self.watch = SelfWatch(
            Watched(
                self.settings,
                self.clock,
                self.engine,
                log,
                self._keeper,
                planner,
                self._feed,
                self.broker_url,
                backups,
                self._clock_record,
                proving,
                self._edited,
            )
        )
        self._meter.read_off(gauges(self.watch.vitals, lambda: self.engine.picture, self.rejected))
        self._run(self.watch.run(), "self-watch")
        if backups is not None:
            self._run(backups.run(), "backups")
        if proving is not None:
            self._run(proving.run(), "proof of the record")

    def _start_relay(self) -> None:
        """Acts of display processes elsewhere, which reach a writer through the database."""
        if not self.settings.database:
            return
        relay = SqlRelay(self.settings.database)
        self._ends.callback(relay.close)
        # The display's own gateway has asked its planner what must be asked before an act is handed in.
        self._run(Relayed(relay, self.engine.submit, self._says).run(), "relay")

    def _says(self) -> WriterSays:
        picture = self.engine.picture
        return WriterSays(
            planning=picture.planning,
            better_plans=picture.better_plans,
            trouble=self.engine.log_trouble,
            rejected=dict(self.rejected.by_reason),
            rejected_last=dict(self.rejected.last),
            broker_url=self.broker_url,
        )

    def _backups(self) -> Backups | None:
        if self.settings.backups is None:
            return None
        return Backups(
            Places(self._keeper.event_log, self._keeper.readings, self._keeper.access),
            self.settings.backups,
            keep=self.settings.keep_backups,
            at=self.settings.backup_at,
            zone=lambda: kitchen.time_zone if (kitchen := self._kitchen()) is not None else "UTC",
            now=self.clock.now,
            timers=timers_of(self.hooks, self.clock),
        )

    def _start_calls(self) -> None:
        caller = Caller(
            state=lambda: self.engine.picture.state,
            submit=self.engine.submit,
            notifier=notifier_of(self.hooks, practice=self.settings.practice),
            compose=compose_of(self.gateway),
        )
        self._ends.callback(self.engine.follow(caller.changed))
        self._run(caller.run(), "calls")

    def _run(self, work: Coroutine[Any, Any, None], name: str) -> None:
        task = asyncio.create_task(work, name=name)
        task.add_done_callback(_report)
        self._tasks.append(task)

    async def _end_tasks(self) -> None:
        for task in self._tasks:
            task.cancel()
        if self._tasks:  # a broker that does not answer a farewell is not waited for
            await asyncio.wait(self._tasks, timeout=_FAREWELL_S)

    async def _keep_broker(self, broker: Broker) -> None:
        while True:
            await asyncio.sleep(_BROKER_LOOKED_AT_EVERY_S)
            if not broker.alive():
                LOG.warning("the embedded broker ended; it is started again")
                try:
                    await asyncio.to_thread(broker.start)
                except OSError as error:
                    LOG.error("%s", error)

    async def _start_web(self) -> None:
        if not self.hooks.web:
            return
        make_app = await asyncio.to_thread(app_of, self.hooks, self._access)  # imports the screens, a second's work
        self.web = WebServer(make_app(self.gateway), self.settings.host, self.settings.port, self.settings.certificate)
        self._ends.push_async_callback(self.web.stop)
        await self.web.start()

    async def stop(self) -> None:
        """End everything in the reverse order; what was acknowledged is on disk. Harmless to repeat."""
        await self._ends.aclose()


def _report(task: asyncio.Task[None]) -> None:
    if not task.cancelled() and (error := task.exception()) is not None:
        LOG.critical("the %s task ended: %r", task.get_name(), error, exc_info=error)


def build(settings: Settings, hooks: Hooks | None = None) -> System:
    """A system that is ready to start."""
    return System(settings, hooks)
