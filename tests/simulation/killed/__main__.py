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

from tests.simulation.faulty.kitchens import kitchen_of
from tests.simulation.killed.kills import Folder

_A_FOLDER = 50
"""So many kills in one data folder: replay grows with it."""


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
        left, number = options.times, 0
        while left > 0:
            seed = options.seed + number
            kitchen = Folder(Path(place) / str(number), kitchen_of(seed, change=False), random.Random(seed))
            for _ in range(min(left, _A_FOLDER)):
                kitchen.live_and_die()
                left -= 1
                if left % 25 == 0:
                    print(f"{options.times - left} of {options.times}", file=sys.stderr, flush=True)
            kitchen.settle()
            total.update(kitchen.counted)
            number += 1
    print(f"{total['kills']} kills in {time.monotonic() - begun:.0f} s, nothing acknowledged lost or doubled")
    print("; ".join(f"{count:,} {what}" for what, count in sorted(total.items())))
    return 0


if __name__ == "__main__":
    sys.exit(main())
