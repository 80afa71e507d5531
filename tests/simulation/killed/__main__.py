"""kill -9 at random instants: ``python -m tests.simulation.killed --times 1000 --seed 1``.

A process with the real engine on real SQLite files is killed while it starts, decides and writes; after each kill
``coldwright records verify`` must find the log whole, and every act and reading that was acknowledged on it, once.
"""

import argparse
import logging
import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from orchestrator.core.models import Kitchen, PlanRequest
from orchestrator.planner.plan import make_plan
from tests.simulation.faulty.kitchens import kitchen_of
from tests.simulation.killed.kills import Folder

_A_FOLDER = 50
"""So many kills in one data folder: replay grows with it."""


def _has_work(kitchen: Kitchen) -> bool:
    answer = make_plan(PlanRequest(kitchen=kitchen, now=kitchen.planning_start), effort="repair", seconds=1.0)
    return answer.plan is not None and bool(answer.plan.tasks)


def main(argv: list[str] | None = None) -> int:
    """Returns: 0; an invariant that does not hold is raised."""
    parser = argparse.ArgumentParser(prog="python -m tests.simulation.killed", description=__doc__)
    parser.add_argument("--times", type=int, default=100, help="how many kills")
    parser.add_argument("--seed", type=int, default=1, help="of the kitchens and the instants")
    options = parser.parse_args(argv)
    logging.disable(logging.CRITICAL)
    total: Counter[str] = Counter()
    begun = time.monotonic()
    with tempfile.TemporaryDirectory() as place:
        left, seed = options.times, options.seed
        while left > 0:
            while not _has_work(made := kitchen_of(seed, change=False)):
                seed += 1  # all that was ordered is there already: no task to report on
            kitchen = Folder(Path(place) / str(seed), made, random.Random(seed))
            for _ in range(min(left, _A_FOLDER)):
                kitchen.live_and_die()
                left -= 1
                if left % 25 == 0:
                    print(f"{options.times - left} of {options.times}", file=sys.stderr, flush=True)
            kitchen.settle()
            total.update(kitchen.counted)
            seed += 1
    print(f"{total['kills']} kills in {time.monotonic() - begun:.0f} s, nothing acknowledged lost or doubled")
    print("; ".join(f"{count:,} {what}" for what, count in sorted(total.items())))
    return 0


if __name__ == "__main__":
    sys.exit(main())
