"""A broker that is down for long: ``python -m tests.simulation.outage --seconds 600 --per-second 5``.

A real Mosquitto ends and comes back; then the service is away while it restarts. Every reading (QoS 1) must be kept,
once. A thermometer of the demo keeps 5,000 readings meanwhile: more than ``seconds`` times ``per-second``.
"""

import argparse
import asyncio
import sys
import tempfile
from pathlib import Path

from tests.simulation.outage.kitchen import Outage


def main(argv: list[str] | None = None) -> int:
    """Returns: 0 when none is lost and none is kept twice, else 1."""
    parser = argparse.ArgumentParser(prog="python -m tests.simulation.outage", description=__doc__)
    parser.add_argument("--seconds", type=float, default=600.0, help="how long the broker is down")
    parser.add_argument("--per-second", type=float, default=5.0, help="readings")
    options = parser.parse_args(argv)
    with tempfile.TemporaryDirectory() as place:
        outage = Outage(Path(place), options.per_second)
        lived = asyncio.run(outage.live(down_s=options.seconds, away_s=options.seconds / 10, around_s=5.0))
    lost = set(range(1, lived.measured + 1)) - set(lived.kept)
    twice = len(lived.kept) - len(set(lived.kept))
    print(f"broker down {options.seconds:.0f} s: {lived.measured} readings, {len(lost)} lost, {twice} kept twice")
    print(f"{lived.waited_at_probes} waited at the thermometers at most, {lived.brought_again} came more than once")
    return 1 if lost or twice else 0


if __name__ == "__main__":
    sys.exit(main())
