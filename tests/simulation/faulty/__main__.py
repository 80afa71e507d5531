"""Kitchens with faults, by the thousand: ``python -m tests.simulation.faulty --kitchens 10000 --seed 1 --jobs 2``.

Each seed is a kitchen's day (24 h of simulated time) with its faults; the invariants are looked at after every step.
``--hours 4 --often 3``: its first four hours, with three times as many faults an hour: more kitchens for the same time.
Stopped and called again with the same ``--results``, it goes on where it was. One seed again, with all it says:
``python -m tests.simulation.faulty --replay 4711``.
"""

import argparse
import json
import multiprocessing
import sys
import time
from collections import Counter
from functools import partial
from pathlib import Path

from tests.simulation.faulty.seeds import Outcome, live, tried


def _arguments(argv: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.simulation.faulty", description=__doc__)
    parser.add_argument("--kitchens", type=int, default=100, help="how many")
    parser.add_argument("--seed", type=int, default=1, help="the first seed")
    parser.add_argument("--hours", type=float, default=24.0, help="how long each is lived through")
    parser.add_argument("--often", type=float, default=1.0, help="how many times as many faults an hour")
    parser.add_argument("--jobs", type=int, default=1, help="processes side by side")
    parser.add_argument("--results", type=Path, default=None, help="file to keep results in, and to go on from")
    parser.add_argument("--replay", type=int, metavar="SEED", help="this one only; ends with its error, if any")
    return parser.parse_args(argv)


def _known(results: Path | None) -> list[dict[str, object]]:
    if results is None or not results.exists():
        return []
    return [json.loads(line) for line in results.read_text(encoding="utf-8").splitlines() if line.strip()]


def _row(outcome: Outcome) -> dict[str, object]:
    counted = dict(outcome.lived.counted) if outcome.lived is not None else {}
    trace = outcome.lived.trace if outcome.lived is not None else ""
    return {
        "seed": outcome.seed,
        "fault": outcome.fault,
        "trace": trace,
        "cpu_s": round(outcome.cpu_s, 2),
        "counted": counted,
    }


def _again(options: argparse.Namespace, seed: int) -> str:
    said = f"--hours {options.hours:g} --often {options.often:g} --replay {seed}"
    return f"python -m tests.simulation.faulty {said}"


def _run(options: argparse.Namespace) -> list[dict[str, object]]:
    wanted = range(options.seed, options.seed + options.kitchens)
    rows = [row for row in _known(options.results) if row["seed"] in wanted]
    left = sorted(set(wanted) - {int(str(row["seed"])) for row in rows})
    begun = time.monotonic()
    one = partial(tried, span_s=options.hours * 3600.0, often=options.often)
    with multiprocessing.get_context("spawn").Pool(options.jobs) as pool:
        for number, outcome in enumerate(pool.imap_unordered(one, left), 1):
            rows.append(_row(outcome))
            if options.results is not None:
                with options.results.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(rows[-1]) + "\n")
            if outcome.fault:
                print(f"seed {outcome.seed}: {outcome.fault}\n  again: {_again(options, outcome.seed)}", flush=True)
            if number % 25 == 0 or number == len(left):
                per_s = (time.monotonic() - begun) / number
                print(f"{len(rows)} of {len(wanted)}, {per_s:.1f} s each", file=sys.stderr, flush=True)
    return rows


def main(argv: list[str] | None = None) -> int:
    """Returns: 0 when every invariant held in every kitchen, else 1."""
    options = _arguments(argv)
    if options.replay is not None:
        print(live(options.replay, span_s=options.hours * 3600.0, often=options.often))
        return 0
    rows = _run(options)
    total: Counter[str] = Counter()
    for row in rows:
        total.update(row["counted"])  # type: ignore[call-overload]
    failed = [row for row in rows if row["fault"]]
    cpu_s = sum(float(str(row["cpu_s"])) for row in rows)
    print(f"{len(rows)} kitchens of {options.hours:g} h, {len(failed)} with a fault, {cpu_s:.0f} s of the processor")
    print("; ".join(f"{number:,} {what}" for what, number in sorted(total.items())))
    for row in failed:
        print(f"{row['seed']} {row['fault']}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
