"""A year of events: some days that the real core recorded of a simulated kitchen, again and again.

Each round has its own lots, tasks, alarms and commands and its own dates, so that whatever grows with a year grows
here; seqs run on and the chain is made as the log makes it. The kitchen's files are taken over once, as they would be;
before each round the planned days go on, the lots of the round before are past, and orders, shifts and deliveries are
those of the first days, later.
"""

import re
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.core.days_events import DaysMoved
from orchestrator.core.events import EVENTS, KitchenImported, PlanAdopted, Recorded
from orchestrator.core.ids import CommandId, LotCode, TaskId
from orchestrator.core.kitchen_events import KitchenChanged
from orchestrator.core.models import Kitchen, Plan, PlannedTask
from orchestrator.core.models.change import ChangeOrder, SupplyMoved
from orchestrator.core.models.kitchen import Shift
from orchestrator.kitchen.read import read_kitchen
from tests.benchmarks.screens_service import CONFIG
from tests.simulation.house import House

_INSTANT: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?Z")
_BATCH: Final = 500


def pattern(days: int, seed: int = 3) -> list[Recorded]:
    """What is on record of the example kitchen's first days, lived through by simulated people and heat."""
    start = read_kitchen(CONFIG).planning_start
    with tempfile.TemporaryDirectory() as folder, House(CONFIG, Path(folder), start, most_solved=0) as house:
        runner, _ = house.runner(seed=seed, variation=1.0, on_step=lambda now: None)
        runner.run(start + timedelta(days=days))
        return list(house.gateway.history(0, 1_000_000))


def repeated(records: Sequence[Recorded], days: int, rounds: int) -> Iterator[Recorded]:
    """The same days so many times, one after the other; the first round as it was.

    Args:
        records: Of so many days, from a log's beginning.
        days: From one round to the next.
        rounds: How many.
    """
    yield from records
    kitchen = next(record.event.kitchen for record in records if isinstance(record.event, KitchenImported))
    last = next(record.event.plan for record in reversed(records) if isinstance(record.event, PlanAdopted))
    said = [(record, record.event.model_dump_json()) for record in records if record.event.kind != "kitchen_imported"]
    named = _named(records)
    seq = records[-1].seq
    for count in range(1, rounds):
        by = timedelta(days=days * count)
        acts: dict[int, int] = {}
        began = kitchen.planning_start + by
        for between in (_days_moved(kitchen, last, by, count - 1), _wanted_again(kitchen, by)):
            seq += 1
            yield Recorded(seq=seq, at=began, command_id=CommandId(f"{between.kind}-{count}"), event=between)
        for record, body in said:
            seq += 1
            acts[record.seq] = seq
            told = named.sub(rf"\1r{count}", _later(body, by))
            event = EVENTS.validate_json(_renumbered(told, acts))
            yield Recorded(
                seq=seq, at=record.at + by, command_id=CommandId(f"{record.command_id}r{count}"), event=event
            )


def _days_moved(kitchen: Kitchen, last: Plan, by: timedelta, before: int) -> DaysMoved:
    """All that was planned in the round before is over, whatever became of it; its people come again."""
    ending = f"r{before}" if before else ""
    lots = tuple(batch.lot for batch in last.batches)
    return DaysMoved(
        at=kitchen.planning_start + by,
        planning_start=kitchen.planning_start + by,
        horizon_days=kitchen.horizon_days,
        lots=tuple(LotCode(f"{lot}{ending}") for lot in lots),
        tasks=tuple(_renamed(task, lots, ending) for task in last.tasks),
        shifts={member.id: tuple(_shifted(shift, by) for shift in member.shifts) for member in kitchen.crew},
    )


def _renamed(task: PlannedTask, lots: Iterable[LotCode], ending: str) -> TaskId:
    lot = next((lot for lot in lots if task.id.startswith(f"{lot}.")), None)
    return task.id if lot is None else TaskId(f"{lot}{ending}{task.id.removeprefix(lot)}")


def _shifted(shift: Shift, by: timedelta) -> Shift:
    return Shift.model_validate_json(_later(shift.model_dump_json(), by))


def _wanted_again(kitchen: Kitchen, by: timedelta) -> KitchenChanged:
    orders = [
        ChangeOrder(order=one.id, due=one.due + by, earliest=None if one.earliest is None else one.earliest + by)
        for one in kitchen.orders
    ]
    supplies = [
        SupplyMoved(ingredient=one.ingredient, ready=one.ready + by) for one in kitchen.supplies if one.why != "left"
    ]
    person = next(member.id for member in kitchen.crew if member.manager)
    return KitchenChanged(changes=(*orders, *supplies), at=kitchen.planning_start + by, person=person)


def _named(records: Iterable[Recorded]) -> re.Pattern[str]:
    """The code of a lot, alone or as the beginning of a task's id."""
    plans = [record.event.plan for record in records if isinstance(record.event, PlanAdopted)]
    lots = {str(batch.lot) for plan in plans for batch in plan.batches}
    return re.compile(rf'(?<=[":.])({"|".join(map(re.escape, sorted(lots, key=len, reverse=True)))})(?=[".:])')


def _later(body: str, by: timedelta) -> str:
    known: dict[str, str] = {}

    def moved(found: re.Match[str]) -> str:
        text = found[0]
        if text not in known:
            known[text] = (datetime.fromisoformat(text) + by).isoformat().replace("+00:00", "Z")
        return known[text]

    return _INSTANT.sub(moved, body)


def _renumbered(body: str, acts: dict[int, int]) -> str:
    """An act that is taken back, and a proposal that is decided on, are named by the number of their event."""
    return re.sub(r'"(act|proposal)":(\d+)', lambda m: f'"{m[1]}":{acts.get(int(m[2]), int(m[2]))}', body)


def write(file: Path, records: Iterable[Recorded]) -> int:
    """A log with these events. Returns: how many."""
    log, waiting, count = SqlEventLog(file), list[Recorded](), 0
    try:
        for record in records:
            waiting.append(record)
            if len(waiting) == _BATCH:
                log.append(waiting)
                waiting, count = [], count + _BATCH
        log.append(waiting)
        return count + len(waiting)
    finally:
        log.close()
