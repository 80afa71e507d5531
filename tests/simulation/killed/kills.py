"""kill -9 at random instants, again and again: what was acknowledged is on record once, and the log verifies."""

import contextlib
import io
import json
import os
import random
import select
import signal
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any, Final

from orchestrator.adapters.data_folder import DataFolder
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.adapters.sql_readings import SqlReadings
from orchestrator.cli.records import places_of, run_verify
from orchestrator.core.events import PlanAdopted, Recorded
from orchestrator.core.ids import ProbeId
from orchestrator.core.models import Kitchen
from tests.simulation.killed.child import RATE, Child

_AT_WORK: Final = 6
"""So many acts are under way at once."""
_READY_S: Final = 120.0
PROBE: Final = "fridge-air"


@dataclass(slots=True)
class Told:
    """What was asked of the processes, and what they acknowledged before they died."""

    acts: dict[str, dict[str, Any]] = field(default_factory=dict)
    seqs: dict[str, int] = field(default_factory=dict)
    readings: set[int] = field(default_factory=set)
    readings_kept: set[int] = field(default_factory=set)
    refused: list[str] = field(default_factory=list)


class Running:
    """One life of the process."""

    def __init__(self, folder: Path, kitchen: Kitchen, lived_s: float, told: Told) -> None:
        self._told = told
        self._kitchen = kitchen
        requests_out, self._requests = os.pipe()
        self._answers, answers_in = os.pipe()
        now = kitchen.planning_start + timedelta(seconds=lived_s * RATE)
        self.pid = os.fork()  # forked, not spawned: a thousand imports would take longer than a thousand lives
        if self.pid == 0:
            os.close(self._requests)
            os.close(self._answers)
            try:
                Child(folder, kitchen, now, requests_out, answers_in).run()
            finally:
                os._exit(0)
        os.close(requests_out)
        os.close(answers_in)
        self._rest = b""
        self.ready = False
        self.answered = 0

    def send(self, asked: dict[str, Any]) -> None:
        """One line to the process; it may be dead already."""
        with contextlib.suppress(BrokenPipeError):
            os.write(self._requests, json.dumps(asked).encode() + b"\n")

    def listen(self, seconds: float) -> None:
        """Take in answers for so long."""
        until = time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            if select.select([self._answers], [], [], left)[0] and not self._take():
                return

    def _take(self) -> bool:
        got = os.read(self._answers, 65536)
        *lines, self._rest = (self._rest + got).split(b"\n")
        for line in lines:
            self._answer(json.loads(line))
        return bool(got)

    def _answer(self, told: dict[str, Any]) -> None:
        if "ready" in told:
            self.ready = True
            return
        self.answered += 1
        if "readings" in told:
            self._told.readings_kept |= set(told["readings"])
        elif "refused" in told:
            self._told.refused.append(f"{told['id']}: {told['refused']}")
        else:
            before = self._told.seqs.setdefault(told["id"], told["seq"])
            assert before == told["seq"], f"{told['id']} was acknowledged as {before} and as {told['seq']}"

    def kill(self) -> None:
        """kill -9; what it had answered before is still in the pipe."""
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self._requests)
        while self._take():
            pass
        os.close(self._answers)

    def end(self) -> None:
        """Let it end by itself."""
        os.close(self._requests)
        os.waitpid(self.pid, 0)
        while self._take():
            pass
        os.close(self._answers)


class Folder:
    """One data folder that outlives many processes."""

    def __init__(self, folder: Path, kitchen: Kitchen, chance: random.Random) -> None:
        folder.mkdir(parents=True)
        self._folder = folder
        self._kitchen = kitchen
        self._chance = chance
        self._begun = time.monotonic()
        self._number = 0
        self.told = Told()
        self.counted: Counter[str] = Counter()
        self._task = self._first_plan()

    def _start(self) -> Running:
        return Running(self._folder, self._kitchen, time.monotonic() - self._begun, self.told)

    def _first_plan(self) -> str:
        running = self._start()
        until = time.monotonic() + _READY_S
        try:
            while time.monotonic() < until:
                running.listen(0.2)
                plans = [r.event.plan for r in self._log() if isinstance(r.event, PlanAdopted)] if running.ready else []
                if plans:
                    return str(plans[-1].tasks[0].id)
        finally:
            running.kill()
        raise AssertionError(f"no plan after {_READY_S} s")

    def _log(self) -> list[Recorded]:
        log = SqlEventLog(DataFolder(self._folder).event_log, read_only=True)
        try:
            return list(log.read())
        finally:
            log.close()

    def live_and_die(self) -> None:
        """One process: what waits is sent again, new acts come, and it is killed at some instant."""
        running = self._start()
        for name in [name for name in self.told.acts if name not in self.told.seqs]:
            running.send(self.told.acts[name])
            self.counted["sent again"] += 1
        if self._chance.random() < 0.7:
            self._until_ready(running)
        until = time.monotonic() + self._chance.uniform(0.0, 0.3)
        while time.monotonic() < until:
            self._new_acts(running)
            running.listen(min(0.01, max(until - time.monotonic(), 0.0)))
        self.counted["killed before it was ready"] += not running.ready
        running.kill()
        self.counted["kills"] += 1
        self.check()

    def _until_ready(self, running: Running) -> None:
        until = time.monotonic() + _READY_S
        while not running.ready:
            assert time.monotonic() < until, f"not ready after {_READY_S} s"
            running.listen(0.05)

    def _new_acts(self, running: Running) -> None:
        if len(self.told.acts) - len(self.told.seqs) >= _AT_WORK:
            return
        self._number += 1
        name = f"act-{self._number}"
        person = self._kitchen.crew[0].id
        act = {"kind": "report_problem", "command_id": name, "person": person, "task": self._task, "what": "other"}
        self.told.acts[name] = {**act, "text": name}
        running.send(self.told.acts[name])
        at = self._kitchen.planning_start + timedelta(seconds=self._number)
        self.told.readings.add(self._number)
        running.send({"readings": [(PROBE, 3.5, at.isoformat(), self._number)]})

    def check(self) -> None:
        """Nothing acknowledged is lost or doubled, and the record is whole."""
        said = io.StringIO()
        with contextlib.redirect_stdout(said):
            status = run_verify(places_of(self._folder), None, as_json=True)
        assert status == 0, said.getvalue()
        last: dict[str, int] = {}
        for record in self._log():
            before = last.get(record.command_id, record.seq - 1)
            assert before == record.seq - 1, f"{record.command_id} was carried out twice: {before}, {record.seq}"
            last[record.command_id] = record.seq
        lost = {name: seq for name, seq in self.told.seqs.items() if last.get(name) != seq}
        assert not lost, f"acknowledged and not on record: {lost}"
        readings = SqlReadings(DataFolder(self._folder).readings)
        start = self._kitchen.planning_start
        kept = [r.seq for r in readings.between(ProbeId(PROBE), start, start + timedelta(days=1))]
        readings.close()
        assert len(kept) == len(set(kept)), "a reading is kept twice"
        assert self.told.readings_kept <= set(kept), "a reading was acknowledged and is not kept"
        assert not self.told.refused, self.told.refused

    def settle(self) -> None:
        """A last process that is left alone: what waited is acknowledged now, and everything is there once."""
        running = self._start()
        self._until_ready(running)
        for name, act in self.told.acts.items():
            running.send(act)  # all of them once more: each gets the answer that it got before
            running.listen(0.0 if name in self.told.seqs else 0.001)
        until = time.monotonic() + _READY_S
        while running.answered < len(self.told.acts) and time.monotonic() < until:
            running.listen(0.1)
        running.end()
        assert set(self.told.seqs) == set(self.told.acts), "some acts were never acknowledged"
        self.check()
        self.counted["acts"] = len(self.told.acts)
        self.counted["readings acknowledged"] = len(self.told.readings_kept)
        self.counted["records"] = len(self._log())
