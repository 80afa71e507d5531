"""The process that is killed: the real engine on real SQLite files; acts and readings come in by a pipe."""

import asyncio
import json
import os
import random
from collections.abc import Coroutine
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from orchestrator.adapters.data_folder import DataFolder
from orchestrator.adapters.scaled_clock import ScaledClock, ScaledTimers
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.adapters.sql_readings import SqlReadings
from orchestrator.bootstrap.hooks import core_rules
from orchestrator.core.commands import COMMANDS, ImportKitchen
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId, ProbeId
from orchestrator.core.models import Kitchen
from orchestrator.engine import DeskSettings, Engine
from orchestrator.ports.event_log import Reading
from tests.simulation.faulty.planner import QuickPlanner

RATE: Final = 120.0
"""Kitchen seconds a real second: instants become due while it runs."""


class Child:
    """Serves a data folder until it is killed."""

    def __init__(self, folder: Path, kitchen: Kitchen, now: datetime, requests: int, answers: int) -> None:
        self._folder = folder
        self._kitchen = kitchen
        self._now = now
        self._requests = requests
        self._answers = answers
        self._rest = b""
        self._tasks: set[asyncio.Task[None]] = set()

    def run(self) -> None:
        """Never returns but by the pipe's end."""
        asyncio.run(self._serve())

    async def _serve(self) -> None:
        place = DataFolder(self._folder)
        place.take()
        clock = ScaledClock(self._now, RATE)
        self._engine = Engine(
            rules=core_rules(),
            log=SqlEventLog(place.event_log, holder=f"process {os.getpid()}"),
            readings=SqlReadings(place.readings),
            clock=clock,
            timers=lambda callback: ScaledTimers(clock, callback),
            planner=QuickPlanner(random.Random(0)),
            desk=DeskSettings(seconds=0.5, repair_seconds=0.5, instants=False),
        )
        await self._engine.start()
        if self._engine.picture.state.kitchen is None:
            await self._engine.submit(ImportKitchen(command_id=CommandId("import"), kitchen=self._kitchen))
        ended = asyncio.Event()
        asyncio.get_running_loop().add_reader(self._requests, self._read, ended)
        self._answer({"ready": self._engine.picture.state.seq})
        await ended.wait()
        await self._engine.stop()

    def _read(self, ended: asyncio.Event) -> None:
        got = os.read(self._requests, 65536)
        if not got:
            asyncio.get_running_loop().remove_reader(self._requests)
            ended.set()
        *lines, self._rest = (self._rest + got).split(b"\n")
        for line in lines:
            asked = json.loads(line)
            self._do(self._readings(asked["readings"]) if "readings" in asked else self._act(asked))

    def _do(self, work: Coroutine[Any, Any, None]) -> None:
        task = asyncio.ensure_future(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def _act(self, asked: dict[str, Any]) -> None:
        answer = await self._engine.submit(COMMANDS.validate_python(asked))
        told = {"refused": answer.status} if isinstance(answer, Refusal) else {"seq": answer}
        self._answer({"id": asked["command_id"], **told})

    async def _readings(self, asked: list[tuple[str, float, str, int]]) -> None:
        def instant(at: str) -> datetime:
            return datetime.fromisoformat(at)

        await self._engine.on_readings([Reading(ProbeId(p), c, instant(at), instant(at), n) for p, c, at, n in asked])
        self._answer({"readings": [number for *_, number in asked]})

    def _answer(self, told: dict[str, Any]) -> None:
        os.write(self._answers, json.dumps(told).encode() + b"\n")  # shorter than PIPE_BUF: whole or not at all
