"""A service that starts on a data folder, says in one line of JSON what that took, and ends.

`python -m tests.benchmarks.restart_child FOLDER INSTANT`
"""

import asyncio
import json
import sys
import time
from datetime import datetime
from pathlib import Path

BEGAN = time.perf_counter(), time.process_time()


async def start(folder: Path, now: datetime) -> dict[str, float]:
    """All of it but a broker, a planner that plans and people who look. Imports count: a restart has them too."""
    from orchestrator.adapters.scaled_clock import ScaledClock
    from orchestrator.bootstrap import Hooks, Settings, build
    from tests.benchmarks.memory import peak_mb
    from tests.benchmarks.screens_service import CONFIG
    from tests.simulation.house import PlannerHere

    settings = Settings(data=folder, kitchen=CONFIG, broker="none", practice=True)
    system = build(settings, Hooks(clock=ScaledClock(now, 0.0), planner=PlannerHere(most_solved=0)))
    await system.start()
    took = {"wall_s": time.perf_counter() - BEGAN[0], "cpu_s": time.process_time() - BEGAN[1]}
    took |= {"seq": system.engine.picture.state.seq, "mb": peak_mb() or 0.0}
    await system.stop()
    return took


if __name__ == "__main__":
    print(json.dumps(asyncio.run(start(Path(sys.argv[1]), datetime.fromisoformat(sys.argv[2])))))
