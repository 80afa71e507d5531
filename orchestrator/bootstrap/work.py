"""``coldwright worker``: a planner for all kitchens of a database, from start to a clean end."""

import asyncio
import logging
from collections.abc import Callable
from typing import Literal

from orchestrator.adapters.job_store import JobStore
from orchestrator.adapters.planner_process import PlannerProcess
from orchestrator.adapters.planner_worker import PlannerWorker
from orchestrator.bootstrap import logs
from orchestrator.bootstrap.planner_child import serve_quick, serve_searches
from orchestrator.bootstrap.serve import first_of, stop_signal
from orchestrator.bootstrap.watchdog import LoopGuard, Systemd
from orchestrator.ports.event_log import LogUnavailable

LOG = logging.getLogger(__name__)


def work(url: str, log_format: Literal["text", "json"], say: Callable[[str], None] = print) -> int:
    """Answer until SIGINT or SIGTERM.

    Args:
        url: Of a PostgreSQL database; its kitchen does not matter.
        log_format: Of what goes to stderr.
        say: Prints a line for people.

    Returns:
        The command's exit status: 0, or 1 where the database cannot be used.
    """
    logs.set_up(log_format)
    try:
        asyncio.run(_work(url, say))
    except LogUnavailable as error:
        say(str(error))
        return 1
    return 0


async def _work(url: str, say: Callable[[str], None]) -> None:
    stopping = stop_signal()
    store = await asyncio.to_thread(JobStore, url)
    planner = PlannerProcess(serve_quick, serve_searches)
    planner.start()
    manager, worker = Systemd(), PlannerWorker(store, planner)
    watching = [asyncio.create_task(LoopGuard().run()), asyncio.create_task(manager.ping(lambda: ""))]
    try:
        say(f"{worker.name} plans for the kitchens of {store.name.partition('?')[0]}")
        manager.tell("READY=1")
        await first_of(worker.run(), stopping.wait())
        say("ending; what was in hand goes to another worker")
    finally:
        for task in watching:
            task.cancel()
        await planner.close()
        await asyncio.to_thread(store.close)
