"""Benches: `python -m tests.benchmarks`, about a quarter of an hour; the full set, in hours: `--full`.

Figures are written down one by one with `--json FILE`: a run that was stopped goes on from there, and `--report FILE`
prints the tables of what is in it. `--all` measures a running kitchen, too. Everything of one kitchen is measured side
by side. The figures of another machine, or of this one when it is busy, differ; ratios less so.
"""

import argparse
import sys
from collections.abc import Collection, Mapping
from pathlib import Path

from tests.benchmarks import (
    acts,
    conflicts,
    goals,
    job_shops,
    mixes,
    mutations,
    processes,
    quality,
    quality_tables,
    readings,
    replans,
    restarts,
    screens,
    slow_screens,
)
from tests.benchmarks.book import Book, BookFault, Figures, Part
from tests.benchmarks.kitchens import example_request, larger_request
from tests.benchmarks.quality import Size
from tests.benchmarks.runner import report, run

SHORT = (
    Size(1, 3, 5.0, 3, 5.0), Size(5, 3, 10.0, 3, 10.0), Size(20, 2, 20.0, 2, 20.0), Size(50, 1, 20.0, 1, 20.0),
    Size(150, 1, 60.0, 0, 20.0), Size(400, 1, 60.0, 0, 20.0),
)  # fmt: skip
"""Where plain finds nothing in a minute, it is tried in the full set only."""
FULL = (
    Size(1, 5, 60.0, 5, 60.0), Size(5, 5, 60.0, 5, 60.0),
    *(Size(batches, 10, 60.0, 5, 60.0) for batches in (20, 50, 150, 400)),
)  # fmt: skip
"""Ten seeds where planted kitchens are to be reached in nine of ten."""
KITCHENS = {"example": example_request, "with more orders": larger_request}
PARTS = (
    "quality",
    "replans",
    "conflicts",
    "processes",
    "instances",
    "mutants",
    "readings",
    "mix",
    "acts",
    "restart",
    "screens",
    "slow",
)
APART = ("acts", "restart", "screens", "slow")
"""Of a running kitchen: only when they are named, with `--all`, or in the full set."""


def quality_and_goals(found: Mapping[str, Figures]) -> str:
    """Tables of the planted kitchens, and which goals they reach."""
    return f"{quality_tables.tables(found)}\n\n{goals.goals(found)}"


def parts(asked: argparse.Namespace) -> list[Part]:
    """What was asked for."""
    full = asked.full
    again = {"seeds": 5, "states": 24, "again": 6} if full else {"seeds": 1, "states": 24, "again": 3}
    everything = (
        Part("quality", quality.measurements(sizes(asked)), quality_and_goals),
        Part("replans", replans.measurements(KITCHENS, **again), replans.tables),
        Part("conflicts", conflicts.measurements(full=full), conflicts.tables),
        Part("processes", processes.measurements(KITCHENS, seconds=20.0 if full else 6.0), processes.tables),
        Part("instances", job_shops.measurements(full=full, seconds=60.0 if full else 10.0), job_shops.tables),
        Part("mutants", mutations.measurements(full=full), mutations.tables),
        Part("readings", readings.measurements(full=full), readings.tables),
        Part("mix", mixes.measurements(), mixes.tables),
        Part("acts", acts.measurements(full=full), acts.tables),
        Part("restart", restarts.measurements(full=full), restarts.tables),
        Part("screens", screens.measurements(full=full), screens.tables),
        Part("slow", slow_screens.measurements(full=full), slow_screens.tables),
    )
    return [part for part in everything if part.name in named(asked)]


def named(asked: argparse.Namespace) -> Collection[str]:
    """Names of the parts that were asked for."""
    if asked.only:
        return tuple(asked.only)
    return PARTS if asked.full or asked.all else tuple(name for name in PARTS if name not in APART)


def sizes(asked: argparse.Namespace) -> list[Size]:
    """Sizes of planted kitchens, as the arguments narrow them."""
    wanted = None if asked.sizes is None else {int(batches) for batches in asked.sizes.split(",")}
    return [
        Size(
            size.batches, asked.seeds or size.seeds, asked.seconds or size.seconds,
            min(size.plain_seeds, asked.seeds or size.plain_seeds), asked.seconds or size.plain_seconds,
        )
        for size in (FULL if asked.full else SHORT)
        if wanted is None or size.batches in wanted
    ]  # fmt: skip


def arguments() -> argparse.ArgumentParser:
    """The command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("--all", action="store_true", help="those of a running kitchen, too")
    parser.add_argument("--full", action="store_true", help="5 to 10 seeds of every size, a minute each way: hours")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write figures there, and go on from what is there")
    parser.add_argument("--report", type=Path, metavar="FILE", help="print the tables of a file, measure nothing")
    parser.add_argument("--only", choices=PARTS, nargs="+", help="these parts alone")
    parser.add_argument("--sizes", metavar="N,N", help="of planted kitchens only these numbers of batches: 20,50")
    parser.add_argument("--seeds", type=int, metavar="N", help="so many seeds of each planted kitchen")
    parser.add_argument("--seconds", type=float, metavar="S", help="so long for each planted kitchen, each way")
    return parser


def main(words: list[str] | None = None) -> int:
    """Measure and print, or print what was measured.

    Returns:
        0; 1 if something could not be measured, a plan broke a rule, or a mutant escaped; 2 for a file not of ours.
    """
    asked = arguments().parse_args(words)
    try:
        book = Book.opened(asked.report or asked.json) if asked.report or asked.json else Book()
    except BookFault as fault:
        print(fault, file=sys.stderr)
        return 2
    chosen = parts(asked)
    if asked.report:
        report(chosen, book)
    else:
        run(chosen, book)
    escaped = any(figures["escaped"] for figures in book.measured("mutants").values())
    return 1 if escaped or book.failed() else 0


if __name__ == "__main__":
    sys.exit(main())
