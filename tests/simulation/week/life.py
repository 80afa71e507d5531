"""A week of the example kitchen with screens, judged after every step by the invariants of the three days."""

import resource
import time
from collections import Counter
from datetime import timedelta
from pathlib import Path
from typing import Final

from display.app import create_app
from orchestrator.cli.example import example_kitchen
from orchestrator.simulator.troubles import CHURN_STOPS, DOOR_OPEN, LATE_COOK, PROBE_SILENT
from tests.fakes.kitchens import at
from tests.simulation.house import House
from tests.simulation.invariants import Counted, Watch
from tests.simulation.week.screens import Screens, closed, opened

START: Final = at("Wed 06:00")
_TROUBLES: Final = {
    PROBE_SILENT: at("Thu 15:00"),
    LATE_COOK: at("Thu 22:00"),
    CHURN_STOPS: at("Fri 10:30"),
    DOOR_OPEN: at("Fri 17:00"),
}
_TOLD_WITHIN_S: Final = 20.0


def _memory_mib() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * resource.getpagesize() / 2**20


def live(data: Path, *, span: timedelta, screens: int) -> Counter[str]:
    """Live so long with so many screens.

    Returns:
        What was counted.

    Raises:
        AssertionError: an invariant does not hold, or a screen was left behind.
    """
    begun, processor = time.monotonic(), time.process_time()
    with House(example_kitchen(), data, START, most_solved=1) as house:
        counted = Counted(house.gateway)
        watch = Watch(house.gateway, counted=counted)
        app = create_app(house.gateway)
        shown = opened(app, house.loop, screens)
        runner, cast = house.runner(seed=1, variation=1.0, on_step=watch)
        cast.crew.gateway = counted
        cast.troubles.scheduled = dict(_TROUBLES)
        runner.run(START + timedelta(hours=2))
        first_mib = _memory_mib()
        runner.run(START + span)
        told = _everybody_is_told(house, shown)
        last_mib = _memory_mib()
        closed(app, house.loop, shown)
        assert shown.differing() == [], "screens of one kind show different things"
        assert shown.crowded() == 0, "more waited for a screen than its panels and the clock"
    return Counter(
        {
            "simulated hours": round(span.total_seconds() / 3600),
            "screens": screens,
            "steps": watch.steps,
            "events": watch.replayed.seq,
            "acts acknowledged": len(counted.acknowledged),
            "pieces sent to screens": sum(screen.pieces for screen in shown.all),
            "most that waited for one screen": max(screen.most_waiting for screen in shown.all),
            "ms until all screens had the last event": round(told * 1000),
            "MiB after two hours": round(first_mib),
            "MiB at the end": round(last_mib),
            "seconds": round(time.monotonic() - begun),
            "seconds of the processor": round(time.process_time() - processor),
        }
    )


def _everybody_is_told(house: House, shown: Screens) -> float:
    begun = time.monotonic()
    while behind := shown.behind(house.gateway.snapshot().state.seq):
        assert time.monotonic() - begun < _TOLD_WITHIN_S, f"{behind} screens were not told of the latest event"
        time.sleep(0.005)
    return time.monotonic() - begun
