"""What a reading costs, with few and many probes, after short and long curves, against a bare consumer beside it.

The bare consumer reads the JSON and keeps the last value of each probe: less cannot be done. Ours decodes, checks and
refuses, then folds the reading into hold, estimate, limit, band and health. Both take the same messages in turn, in
blocks, in one process. What is folded is the same stretch of each curve, however many probes there are: of a step that
is heated, the first hundred readings cost two to three times as much as those after them.
"""

import gc
import json
import statistics
import time
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import Final

from orchestrator.adapters.reading_payload import Received, Rejection, decode
from orchestrator.core.ids import ProbeId
from orchestrator.core.models import Kitchen
from orchestrator.core.state import State
from orchestrator.engine.assess import Assessor
from orchestrator.ports.event_log import Reading
from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.markdown import number, table
from tests.benchmarks.reading_scenes import KINDS, celsius, instant, kind_of, message, scene

PROBES: Final = (10, 100, 1000)
LENGTHS: Final = (60, 600, 6000)
"""Readings of each probe before those that are timed: of one a minute, an hour, ten hours, four days."""
MOST: Final = 100_000
"""So many folds are done beforehand at most, unless all is asked for."""
BLOCKS: Final = 15
IN_A_BLOCK: Final = 1000
STRETCH: Final = 15
"""Readings of each probe of which each is timed by itself."""
TIMED: Final = 1500
"""Of few probes so many kitchens are timed, one after the other, that this many readings are."""


def measurements(*, full: bool) -> tuple[Measurement, ...]:
    """Every number of probes with every length; the largest with the longest in the full set only."""
    pairs = [(probes, length) for probes in PROBES for length in LENGTHS if full or probes * length <= MOST]
    return tuple(
        Measurement(
            f"{probes} probes of {len(KINDS)} kinds, {length} readings each before",
            4.0 + probes * length * 2e-4,
            partial(_measured, probes, length),
        )
        for probes, length in pairs
    )


def _measured(probes: int, length: int) -> Figures:
    folding: dict[str, list[float]] = {kind.name: [] for kind in KINDS}
    for _ in range(max(1, min(TIMED // (probes * STRETCH), MOST // (probes * length)))):
        _fold_a_kitchen(probes, length, folding)
    figures = _timed_blocks(scene(probes)[0], probes, length)
    for name, values in folding.items():
        hundredths = statistics.quantiles(values, n=100)
        figures[name] = {"p50_us": round(hundredths[49], 1), "p99_us": round(hundredths[98], 1)}
    return figures | {"probes": probes, "length": length}


def _fold_a_kitchen(probes: int, length: int, into: dict[str, list[float]]) -> None:
    """All probes in turn, as they come: the stretch after so many readings of each."""
    kitchen, state = scene(probes)
    assessor, of = Assessor(kitchen), length + STRETCH + 1
    for count in range(length):
        for reading in _round(probes, count, of):
            assessor.fold(reading, state)
    stretch = [reading for count in range(length, length + STRETCH) for reading in _round(probes, count, of)]
    gc.collect()
    gc.freeze()  # as `bootstrap.system` does: else the collector goes through all curves again and again
    try:
        _folded(assessor, state, stretch, into)
    finally:
        gc.unfreeze()


def _round(probes: int, count: int, of: int) -> list[Reading]:
    """One reading of each probe."""
    instants = [(probe, instant(probe, count)) for probe in range(probes)]
    return [Reading(ProbeId(f"p{probe}"), celsius(probe, count, of), at, at, count, 80.0) for probe, at in instants]


def _timed_blocks(kitchen: Kitchen, probes: int, length: int) -> Figures:
    of = length + BLOCKS * IN_A_BLOCK // probes + 1
    bare: dict[str, float] = {}
    found: dict[str, list[float]] = {"bare": [], "decoding": []}
    sent = [message(n % probes, length + n // probes, of) for n in range(BLOCKS * IN_A_BLOCK)]
    for block in range(BLOCKS):
        part = sent[block * IN_A_BLOCK : (block + 1) * IN_A_BLOCK]
        found["bare"].append(_timed(lambda part=part: [_bare(bare, topic, raw) for topic, raw, _ in part]))  # type: ignore[misc]
        readings: list[Reading] = []
        found["decoding"].append(_timed(lambda part=part, into=readings: _decoded(kitchen, part, into)))  # type: ignore[misc]
    return {f"{name}_us": round(statistics.median(values), 2) for name, values in found.items()}


def _timed(act: Callable[[], object]) -> float:
    """Microseconds of the processor for each message of a block: what else runs on the machine is not in it."""
    began = time.process_time()
    act()
    return (time.process_time() - began) / IN_A_BLOCK * 1e6


def _folded(assessor: Assessor, state: State, readings: list[Reading], into: dict[str, list[float]]) -> None:
    """Each by itself, in microseconds of the processor; reading its clock is in it."""
    for reading in readings:
        began = time.thread_time_ns()
        assessor.fold(reading, state)
        taken = time.thread_time_ns() - began
        into[kind_of(int(reading.probe[1:])).name].append(taken / 1000.0)


def _bare(last: dict[str, float], topic: str, raw: bytes) -> None:
    last[topic.split("/")[3]] = float(json.loads(raw)["celsius"])


def _decoded(kitchen: Kitchen, part: list[tuple[str, bytes, datetime]], into: list[Reading]) -> None:
    for topic, raw, at in part:
        received = Received(at + timedelta(seconds=1), datetime.now(UTC))
        read = decode(topic, raw, retained=False, received=received, kitchen=kitchen)
        assert not isinstance(read, Rejection), read
        into.append(read)


def tables(found: Mapping[str, Figures]) -> str:
    """One line for each number of probes and length of curve."""
    rows = []
    for row in sorted(found.values(), key=lambda row: (row["probes"], row["length"])):
        each = [f"{row[kind.name]['p50_us']:.0f} / {row[kind.name]['p99_us']:.0f}" for kind in KINDS]
        dearest = max(row[kind.name]["p50_us"] for kind in KINDS)
        ratio = (row["decoding_us"] + dearest) / row["bare_us"]
        cells = [number(row["bare_us"]), number(row["decoding_us"]), *each, number(ratio)]
        rows.append([f"{row['probes']} probes, {row['length']}", *cells])
    head = ["probes, readings of each before", "bare", "decoding", *(kind.name for kind in KINDS), "dearest / bare"]
    return (
        "## Cost of a reading\n\nMicroseconds of the processor for each: the bare consumer and our decoding as the "
        "middle of blocks that take turns, folding by kind of probe as median / 99th of a hundred. The last column is "
        "decoding and the dearest median over the bare consumer in the same run. Writing to disk is in none of them."
        f"\n\n{table(head, rows)}"
    )
