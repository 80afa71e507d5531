"""Kitchens that work by one record for weeks: ``python -m tests.simulation.weeks --weeks 8 --kitchens 4 --seed 1``.

The service without its screens in simulated time: engine, planner by construction, people, heat, broker and disk,
without faults. Orders come again every four days. After every step the invariants of the faulty days; besides, the plan
that was worked by holds when the days go on, and what is over leaves it.
"""

import argparse
import logging
import sys
import time
from collections import Counter

from tests.simulation.weeks.life import live


def main(argv: list[str] | None = None) -> int:
    """Returns: 0; an invariant that does not hold is raised."""
    parser = argparse.ArgumentParser(prog="python -m tests.simulation.weeks", description=__doc__)
    parser.add_argument("--weeks", type=int, default=8)
    parser.add_argument("--kitchens", type=int, default=4, help="how many, one after the other")
    parser.add_argument("--seed", type=int, default=1, help="the first seed")
    options = parser.parse_args(argv)
    logging.disable(logging.CRITICAL)
    total: Counter[str] = Counter()
    for seed in range(options.seed, options.seed + options.kitchens):
        begun = time.process_time()
        counted = live(seed, weeks=options.weeks)
        total.update(counted)
        told = (
            "records",
            "moves of the days",
            "tasks in the plan at most",
            "tasks that left it",
            "orders that left it",
        )
        said = ", ".join(f"{counted[name]:,} {name}" for name in told)
        print(f"seed {seed}: {said}; {time.process_time() - begun:.0f} s of the processor", flush=True)
    print("; ".join(f"{number:,} {what}" for what, number in sorted(total.items())))
    return 0


if __name__ == "__main__":
    sys.exit(main())
