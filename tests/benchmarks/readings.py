"""What a reading costs, with few and many probes, after short and long curves, against a bare consumer beside it.

The bare consumer reads the JSON and keeps the last value of each probe: less cannot be done. Ours decodes, checks and
refuses, then folds the reading into hold, estimate, limit, band and health. Both take the same messages in turn, in
blocks, in one process; half of the probes sit in food whose step is in hand, half in the air of a store.
"""

import dataclasses
import json
import math
import statistics
import time
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import Final

from orchestrator.adapters.reading_payload import Received, Rejection, decode
from orchestrator.core.ids import EquipmentId, ProbeId
from orchestrator.core.models import Kitchen, LimitUse, Probe
from orchestrator.core.models.limit import LimitId
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.engine.assess import Assessor
from orchestrator.kitchen.shipped import shipped_limits
from orchestrator.ports.event_log import Reading
from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.markdown import number, table
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

PROBES: Final = (10, 100, 1000)
LENGTHS: Final = (60, 600, 6000)
"""Readings of each probe before those that are timed: an hour, ten hours, four days, at one a minute."""
MOST: Final = 100_000
"""So many folds are done beforehand at most, unless all is asked for."""
BLOCKS: Final = 15
IN_A_BLOCK: Final = 1000
BEGUN: Final = at("Wed 07:00")


def measurements(*, full: bool) -> tuple[Measurement, ...]:
    """Every number of probes with every length; the largest with the longest in the full set only."""
    pairs = [(probes, length) for probes in PROBES for length in LENGTHS if full or probes * length <= MOST]
    return tuple(
        Measurement(
            f"{probes} probes, {length} readings each before",
            2.0 + probes * length * 4e-4,
            partial(_measured, probes, length),
        )
        for probes, length in pairs
    )


def scene(probes: int) -> tuple[Kitchen, State]:
    """The small kitchen with so many probes, half of them in a custard that is being cooked under a limit."""
    plain, use = small_kitchen(), LimitUse(id=LimitId("frozen-dessert-mix"), ceiling=95.0)
    recipes = []
    for recipe in plain.recipes:
        steps = [s.model_copy(update={"limit": use}) if s.process == "cook" else s for s in recipe.steps]
        recipes.append(recipe.model_copy(update={"steps": tuple(steps)}))
    many = tuple(
        Probe(id=ProbeId(f"p{n}"), name=f"Probe {n}", equipment=EquipmentId("hob-1"), reads="core")
        if n % 2 == 0
        else Probe(id=ProbeId(f"p{n}"), name=f"Probe {n}", equipment=EquipmentId("fridge"), reads="air")
        for n in range(probes)
    )
    kitchen = plain.model_copy(update={"probes": many, "recipes": tuple(recipes), "limits": shipped_limits().limits})
    plan = small_plan(kitchen)
    task = next(t for t in plan.tasks if t.process == "cook")
    record = TaskRecord(status=TaskStatus.IN_HAND, started_at=BEGUN, equipment=task.equipment)
    return kitchen, dataclasses.replace(State(seq=1, kitchen=kitchen, plan=plan), tasks={task.id: record})


def celsius(probe: int, minute: int) -> float:
    """A healthy curve: food that simmers, a store that cycles."""
    wave = 0.3 * math.sin(minute / 7.0 + probe)
    return round((88.0 - 60.0 * math.exp(-minute / 40.0) if probe % 2 == 0 else 3.0) + wave + 0.05 * (minute % 3), 2)


def message(probe: int, minute: int) -> tuple[str, bytes, datetime]:
    """As a thermometer sends it."""
    instant = BEGUN + timedelta(minutes=minute, seconds=probe % 50)
    body = {"celsius": celsius(probe, minute), "measured_at": instant.isoformat(), "seq": minute, "battery_percent": 80}
    return f"coldwright/v1/probes/p{probe}/reading", json.dumps(body).encode(), instant


def _measured(probes: int, length: int) -> Figures:
    kitchen, state = scene(probes)
    assessor = Assessor(kitchen)
    for minute in range(length):
        for probe in range(probes):
            instant = BEGUN + timedelta(minutes=minute, seconds=probe % 50)
            reading = Reading(ProbeId(f"p{probe}"), celsius(probe, minute), instant, instant, minute, 80.0)
            assessor.fold(reading, state)
    bare: dict[str, float] = {}
    found: dict[str, list[float]] = {"bare": [], "decoding": [], "folding": []}
    sent = [message(n % probes, length + n // probes) for n in range(BLOCKS * IN_A_BLOCK)]
    for block in range(BLOCKS):
        part = sent[block * IN_A_BLOCK : (block + 1) * IN_A_BLOCK]
        found["bare"].append(_timed(lambda part=part: [_bare(bare, topic, raw) for topic, raw, _ in part]))  # type: ignore[misc]
        readings: list[Reading] = []
        found["decoding"].append(_timed(lambda part=part, into=readings: _decoded(kitchen, part, into)))  # type: ignore[misc]
        found["folding"].append(_timed(lambda given=readings: [assessor.fold(one, state) for one in given]))  # type: ignore[misc]
    return {f"{name}_us": round(statistics.median(values), 2) for name, values in found.items()} | {
        "probes": probes,
        "length": length,
    }


def _timed(act: Callable[[], object]) -> float:
    """Microseconds of the processor for each message of a block: what else runs on the machine is not in it."""
    began = time.process_time()
    act()
    return (time.process_time() - began) / IN_A_BLOCK * 1e6


def _bare(last: dict[str, float], topic: str, raw: bytes) -> None:
    last[topic.split("/")[3]] = float(json.loads(raw)["celsius"])


def _decoded(kitchen: Kitchen, part: list[tuple[str, bytes, datetime]], into: list[Reading]) -> None:
    for topic, raw, instant in part:
        received = Received(instant + timedelta(seconds=1), datetime.now(UTC))
        read = decode(topic, raw, retained=False, received=received, kitchen=kitchen)
        assert not isinstance(read, Rejection), read
        into.append(read)


def tables(found: Mapping[str, Figures]) -> str:
    """One line for each number of probes and length of curve."""
    rows = []
    for row in sorted(found.values(), key=lambda row: (row["probes"], row["length"])):
        ours = row["decoding_us"] + row["folding_us"]
        cells = [row["bare_us"], row["decoding_us"], row["folding_us"], ours / row["bare_us"]]
        rows.append([f"{row['probes']} probes, {row['length']}", *(number(cell) for cell in cells)])
    head = ["probes, readings of each before", "bare µs", "decoding µs", "folding µs", "ours / bare"]
    return (
        "## Cost of a reading\n\nMicroseconds of the processor for each, middle of blocks that take turns with a bare "
        f"consumer in the same run; writing to disk is not in it, of either.\n\n{table(head, rows)}"
    )
