"""A week with many screens: ``python -m tests.simulation.week --days 7 --screens 200``.

The example kitchen with its people, heat and troubles in simulated time; after every step the invariants of
`tests/simulation/invariants.py`; in the end every screen must show what all of its kind show, and the latest event.
"""

import argparse
import logging
import sys
import tempfile
from datetime import timedelta
from pathlib import Path

from tests.simulation.week.life import live


def main(argv: list[str] | None = None) -> int:
    """Returns: 0; an invariant that does not hold is raised."""
    parser = argparse.ArgumentParser(prog="python -m tests.simulation.week", description=__doc__)
    parser.add_argument("--days", type=float, default=7.0, help="of simulated time")
    parser.add_argument("--screens", type=int, default=200, help="each a stream of its own")
    options = parser.parse_args(argv)
    logging.disable(logging.CRITICAL)
    with tempfile.TemporaryDirectory() as place:
        counted = live(Path(place) / "data", span=timedelta(days=options.days), screens=options.screens)
    print("; ".join(f"{number:,} {what}" for what, number in counted.items()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
