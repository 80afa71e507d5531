"""Durable acts through the gateway beside bare commits in the same run, on SQLite and on PostgreSQL.

The whole kitchen is there: the example with a plan and a base on the hob, so that each act is decided, folded into the
state, judged for alarms, chained and on disk before it is answered. Bare commits write the same number of rows of the
same length to the same disk with the same durability, and do nothing else. Both take turns, in blocks.
"""

import contextlib
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from itertools import count
from pathlib import Path
from typing import Final
from uuid import uuid4

from orchestrator.core.commands import Command, EnterTemperature
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId
from orchestrator.gateway.local import LocalGateway
from orchestrator.kitchen.read import read_kitchen
from tests.benchmarks.bare_databases import Bare, Row, bare_postgres, bare_sqlite
from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.loop_stall import quantile
from tests.benchmarks.markdown import number, table
from tests.benchmarks.screens_service import CONFIG, COOKED, PERSON, cooking
from tests.fakes.postgres import postgres
from tests.simulation.house import House

SENDERS: Final = (1, 8, 50)
"""Acts under way at once; the screens' server has eight threads."""
BLOCKS: Final = 5
DATABASES: Final = ("SQLite", "PostgreSQL")
_ROWS, _ACTS = count(1), count()


def measurements(*, full: bool) -> tuple[Measurement, ...]:
    """Each database with each number of senders."""
    acts = 2000 if full else 300
    return tuple(
        Measurement(
            f"{database}, {senders} at once, {acts} acts", 15 + acts / 40, partial(_run, database, senders, acts)
        )
        for database in DATABASES
        for senders in SENDERS
    )


def _run(database: str, senders: int, acts: int) -> Figures:
    with tempfile.TemporaryDirectory() as name, contextlib.ExitStack() as ends:
        folder, url = Path(name), ""
        if database == "PostgreSQL":
            server = ends.enter_context(postgres())
            url = server.url()
            bare = ends.enter_context(bare_postgres(url))
        else:
            bare = ends.enter_context(bare_sqlite(folder / "bare.sqlite"))
        start = read_kitchen(CONFIG).planning_start
        house = ends.enter_context(House(CONFIG, folder / "data", start, most_solved=0, database=url))
        house.let(lambda system: cooking(system, house.clock))
        return {"database": database, "senders": senders, **measured(house.gateway, bare, senders, acts)}


def measured(gateway: LocalGateway, bare: Bare, senders: int, acts: int) -> Figures:
    """Blocks of acts and of bare commits in turn; milliseconds until each is on disk, and how many a second."""
    found: dict[str, list[float]] = {"act": [], "bare": [], "act s": [], "bare s": [], "spent": []}
    each = max(acts // BLOCKS // senders, 1)
    length = 0
    for _ in range(BLOCKS):
        before, spent = gateway.snapshot().state.seq, time.process_time()
        with ThreadPoolExecutor(senders) as pool:
            began = time.perf_counter()
            for taken in pool.map(lambda _: [_timed(partial(_submit, gateway)) for _ in range(each)], range(senders)):
                found["act"] += taken
            found["act s"].append(time.perf_counter() - began)
        found["spent"].append((time.process_time() - spent) / (each * senders) * 1000)
        records = gateway.history(before, each * senders)
        length = round(statistics.mean(len(record.event.model_dump_json()) for record in records))
        began = time.perf_counter()
        found["bare"] += [_timed(partial(bare.commit, [_row(length)])) for _ in range(each * senders)]
        found["bare s"].append(time.perf_counter() - began)
    done = len(found["act"])
    return {
        **{name: {"p50": quantile(found[name], 0.5), "p99": quantile(found[name], 0.99)} for name in ("act", "bare")},
        "act_per_s": done / sum(found["act s"]),
        "bare_per_s": done / sum(found["bare s"]),
        "spent_ms": statistics.median(found["spent"]),
        "acts": done,
        "body": length,
    }  # fmt: skip


def _act() -> Command:
    """A temperature by hand of the base on the hob, each another one."""
    celsius = 58.0 + next(_ACTS) % 40 / 10
    return EnterTemperature(command_id=CommandId(uuid4().hex), task=COOKED, celsius=celsius, person=PERSON)


def _submit(gateway: LocalGateway) -> None:
    answer = gateway.submit(_act())
    if isinstance(answer, Refusal):
        raise RuntimeError(f"refused: {answer.thing}: {answer.status}")


def _timed(act: Callable[[], object]) -> float:
    """Milliseconds."""
    began = time.perf_counter()
    act()
    return (time.perf_counter() - began) * 1000


def _row(length: int) -> Row:
    return next(_ROWS), time.time_ns() // 1000, uuid4().hex, "temperature_entered", "x" * length


def tables(found: Mapping[str, Figures]) -> str:
    """One line for each database and number of senders."""
    rows = list(_lines(found))
    head = ["", "acts/s", "p50 (ms)", "p99 (ms)", "processor an act (ms)", "bare/s", "p50", "p99", "p50 ÷", "acts ÷"]
    return (
        "## Durable acts\n\nThrough the gateway until they are on disk and answered; beside them bare commits of "
        "one row each, one after the other, in the same run; the last two columns are acts over these.\n\n"
        f"{table(head, rows)}"
    )


def _lines(found: Mapping[str, Figures]) -> Iterator[list[str]]:
    for row in found.values():
        act, bare = row["act"], row["bare"]
        figures = (
            row["act_per_s"],
            act["p50"],
            act["p99"],
            row["spent_ms"],
            row["bare_per_s"],
            bare["p50"],
            bare["p99"],
        )
        ratios = (act["p50"] / bare["p50"], row["act_per_s"] / row["bare_per_s"])
        yield [f"{row['database']}, {row['senders']} at once", *map(number, (*figures, *ratios))]
