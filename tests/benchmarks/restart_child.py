"""A service that starts on a data folder, says in one line of JSON what that took, and ends.

`python -m tests.benchmarks.restart_child FOLDER INSTANT`
"""

import asyncio
import json
import sys
import time
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # what a start imports counts, and begins below
    from orchestrator.core.models import PlanAnswer
    from orchestrator.core.models.questions import Answer

BEGAN = time.perf_counter(), time.process_time()


class Away:
    """Implements `ports.planning.Planner`: one that is asked in other processes, and whose time is not the start's."""

    async def plan(self, *_: object, **__: object) -> "PlanAnswer":
        """Never answers."""
        await asyncio.Event().wait()
        raise AssertionError("nobody sets it")

    async def ask(self, *_: object, **__: object) -> "Answer":
        """Never answers."""
        await asyncio.Event().wait()
        raise AssertionError("nobody sets it")

    async def close(self) -> None:
        """Nothing to end."""


async def start(folder: Path, now: datetime) -> dict[str, float]:
    """All of it but a broker, a planner and people who look. Imports count: a restart has them too."""
    from orchestrator.adapters.scaled_clock import ScaledClock
    from orchestrator.bootstrap import Hooks, Settings, build
    from tests.benchmarks.memory import peak_mb
    from tests.benchmarks.screens_service import CONFIG

    settings = Settings(data=folder, kitchen=CONFIG, broker="none", practice=True)
    system = build(settings, Hooks(clock=ScaledClock(now, 0.0), planner=Away()))
    await system.start()
    took = {"wall_s": time.perf_counter() - BEGAN[0], "cpu_s": time.process_time() - BEGAN[1]}
    took |= {"seq": system.engine.picture.state.seq, "mb": peak_mb() or 0.0}
    await system.stop()
    return took


if __name__ == "__main__":
    print(json.dumps(asyncio.run(start(Path(sys.argv[1]), datetime.fromisoformat(sys.argv[2])))))
