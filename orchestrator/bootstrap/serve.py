"""The service from start to a clean end."""

import asyncio
import logging
import signal
from collections.abc import Callable, Coroutine
from typing import Any

from orchestrator.bootstrap import logs
from orchestrator.bootstrap.settings import Failure, Settings
from orchestrator.bootstrap.system import System, build
from orchestrator.bootstrap.watchdog import LoopGuard, Systemd
from orchestrator.core.rota import works_until

LOG = logging.getLogger(__name__)


def serve(settings: Settings, say: Callable[[str], None] = print) -> int:
    """Serve a kitchen until SIGINT or SIGTERM.

    Args:
        settings: Where things are kept, and where it listens.
        say: Prints a line for people.

    Returns:
        The command's exit status: 0, 1 refused, 2 bad input.
    """
    known = logs.set_up(settings.log_format)
    try:
        asyncio.run(_serve(settings, say, known))
    except Failure as failure:
        say(failure.text)
        if settings.log_format == "json":
            LOG.critical("%s", failure.text)
        return failure.status
    return 0


async def _serve(settings: Settings, say: Callable[[str], None], known: logs.KitchenFilter) -> None:
    stopping = stop_signal()
    system = build(settings)
    manager = Systemd()
    watching = [
        asyncio.create_task(LoopGuard(settings.stall_seconds).run(), name="loop guard"),
        asyncio.create_task(manager.ping(system.why_dead), name="watchdog"),
    ]
    try:
        if settings.standby:
            say("standing by: the screens open here when the service that writes now has ended")
            manager.tell("READY=1", "STATUS=standing by")
        if not await first_of(system.start(), stopping.wait()):
            return
        await _until_told(system, stopping, say, known, manager)
    finally:
        for task in watching:
            task.cancel()
        await asyncio.gather(*watching, return_exceptions=True)


async def _until_told(
    system: System,
    stopping: asyncio.Event,
    say: Callable[[str], None],
    known: logs.KitchenFilter,
    manager: Systemd,
) -> None:
    try:
        kitchen = system.engine.picture.state.kitchen
        known.kitchen = kitchen.name if kitchen is not None else ""
        announce(system, say)
        manager.tell("READY=1", f"STATUS={system.url}")
        if await first_of(lost := asyncio.create_task(system.lost()), stopping.wait()):
            raise Failure(lost.result())
        say("ending; what was acknowledged is on disk")
    finally:
        manager.tell("STOPPING=1")
        await system.stop()


async def first_of(one: Coroutine[Any, Any, Any] | asyncio.Task[Any], other: Coroutine[Any, Any, Any]) -> bool:
    """Run both until one ends; the other is cancelled.

    Returns:
        Whether it was the first that ended; a fault of the first is raised.
    """
    tasks = [asyncio.ensure_future(one), asyncio.ensure_future(other)]
    await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    ended = tasks[0].done()
    for task in tasks:
        task.cancel()
    await asyncio.wait(tasks)
    if ended:
        tasks[0].result()
    return ended


def announce(system: System, say: Callable[[str], None]) -> None:
    """Say where to look and where to publish."""
    kitchen = system.engine.picture.state.kitchen
    mark = "PRACTICE - " if system.settings.practice else ""
    say(f"{mark}{kitchen.name if kitchen else 'Coldwright'}: {system.url}")
    works = works_until(kitchen) if kitchen is not None else None
    if kitchen is not None and works is not None and system.clock.now() >= works:
        say(f"{mark}nobody has a shift after {kitchen.local(works):%A %d %B %Y %H:%M}: nothing that needs hands can be")
        say(f"{mark}planned. Say who works when on the page Shifts.")
    if system.broker_url:
        say(f"{mark}probes: {system.broker_url}, topic coldwright/v1/probes/<probe>/reading")


def stop_signal() -> asyncio.Event:
    """An event that SIGINT and SIGTERM set; the second SIGINT ends the process at once."""
    stopping = asyncio.Event()
    loop = asyncio.get_running_loop()

    def stop(number: signal.Signals) -> None:
        stopping.set()
        loop.remove_signal_handler(number)

    for number in (signal.SIGINT, signal.SIGTERM):
        try:
            loop.add_signal_handler(number, stop, number)
        except NotImplementedError:  # Windows has no signals in its loops
            signal.signal(number, lambda *_: loop.call_soon_threadsafe(stopping.set))
    return stopping
