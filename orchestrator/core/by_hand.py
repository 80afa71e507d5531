"""What readings by hand say of a step's limit, beside the probes: they count as another probe's in the same food.

What they show broken is broken. What they show met counts where the probes cannot judge; it never hides what a probe
says, and one reading alone holds nothing.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta

from orchestrator.core.by_probes import verdicts_on, worst
from orchestrator.core.ids import CrewId
from orchestrator.core.limit_folds import fold_of, in_fahrenheit
from orchestrator.core.limit_told import told
from orchestrator.core.models import Kitchen, Measure, PlannedTask, ProbeFact, Step
from orchestrator.core.models.limit import Limit, LimitKind
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.plan_index import kitchen_index
from orchestrator.core.state import State, TaskRecord
from orchestrator.thermal.verdict import Verdict

HandReading = tuple[datetime, float, CrewId | None]
"""When, °C, and who measured."""


def readings_of(record: TaskRecord) -> list[HandReading]:
    """What was measured by hand while a task was in hand, its end included, in the order of time."""
    if record.started_at is None:
        return []
    found = [(at, celsius, record.hand_by.get(at)) for at, celsius in record.hand_readings]
    ended = record.measured.get(Measure.TEMPERATURE_C)
    if ended is not None and record.finished_at is not None:
        found.append((record.finished_at, ended, record.finished_by))
    return sorted((one for one in found if one[0] >= record.started_at), key=lambda one: one[0])


def said_by_hand(
    kitchen: Kitchen, step: Step | None, began: datetime | None, readings: Iterable[HandReading], now: datetime
) -> LimitVerdict | None:
    """The verdict by readings by hand alone.

    Args:
        kitchen: Picks the limit's text and the unit's column.
        step: Whose limit it is.
        began: When the step began.
        readings: In the order of time.
        now: The instant asked for.

    Returns:
        None where the step has no limit that temperatures can show, or nothing was measured.

    Source: the tolerance is that of a food thermometer, ±1 °C or ±2 °F: FDA Food Code 2022, 4-203.11.
    """
    limit = kitchen.limit(step.limit.id) if step is not None and step.limit is not None else None
    listed = [one for one in readings if one[0] <= now]
    if limit is None or step is None or began is None or not listed:
        return None
    unit = kitchen.temperature_unit
    fold = fold_of(limit, unit=unit, began_s=began.timestamp(), use=step.limit)
    if fold is None:
        return None
    for at, celsius, _ in listed:
        fold.fold(at.timestamp(), celsius if unit == "C" else in_fahrenheit(celsius))
    said = _from_the_start(limit, fold.verdict(now.timestamp()), began, listed[0][0])
    return told(limit, said, unit=unit, by_hand={at.timestamp(): by for at, _, by in listed})


def _from_the_start(limit: Limit, said: Verdict, began: datetime, first: datetime) -> Verdict:
    """A stay that nobody measured for long after it began is not known to be kept from there."""
    late = first - began > timedelta(minutes=limit.gap)
    if limit.kind is not LimitKind.KEEP or said.status not in ("met", "not yet") or not late:
        return said
    gap = (began.timestamp(), first.timestamp())
    return Verdict("not judged", said.row, gap[0], None, said.margin_degrees, None, said.readings, gap, "gap")


def hand_verdict(state: State, task: PlannedTask, now: datetime) -> LimitVerdict | None:
    """What the readings by hand of a task say of its limit by now; none without any, or without a limit."""
    record = state.tasks.get(task.id)
    if record is None or state.kitchen is None or not (record.hand_readings or record.measured):
        return None
    step = kitchen_index(state.kitchen).step(task)
    until = now if record.finished_at is None else min(now, record.finished_at)
    return said_by_hand(state.kitchen, step, record.started_at, readings_of(record), until)


def newly_broken(state: State, task: PlannedTask, reading: HandReading) -> str:
    """The title of the limit that a further reading shows broken, and those before did not; empty when none is."""
    record = state.record(task.id)
    if state.kitchen is None or (record.started_at is not None and reading[0] < record.started_at):
        return ""
    step, known = kitchen_index(state.kitchen).step(task), readings_of(record)
    after = sorted([*known, reading], key=lambda one: one[0])
    said = said_by_hand(state.kitchen, step, record.started_at, after, reading[0])
    before = said_by_hand(state.kitchen, step, record.started_at, known, reading[0])
    if said is None or said.status != "broken" or (before is not None and before.status == "broken"):
        return ""
    return said.title


def fills(kitchen: Kitchen, open_: LimitVerdict, readings: Iterable[HandReading]) -> bool:
    """Whether readings by hand settle what a probe's gap left open.

    A leg of a cooling is proven by a reading that cold within its time. A hold is not: nobody knows what was between
    one reading and the next. What must be so only at the end is settled by any reading since the gap began.
    """
    limit = kitchen.limit(open_.limit)
    if open_.gap is None or (limit is not None and limit.kind is LimitKind.HEAT):
        return False
    listed = list(readings)
    if limit is None or limit.kind is not LimitKind.COOL or open_.since is None:
        return any(open_.gap[0] <= at <= open_.gap[1] for at, _, _ in listed)
    unit = kitchen.temperature_unit
    first = next((n for n, row in enumerate(limit.rows) if row.id == open_.row), 0)
    return all(
        any(
            at <= open_.since + timedelta(seconds=row.within or 0.0) and celsius <= row.asked.as_celsius(unit)
            for at, celsius, _ in listed
        )
        for row in limit.rows[first:]
    )


def beside(probes: LimitVerdict | None, hand: LimitVerdict | None) -> LimitVerdict | None:
    """The verdict that decides, of the probes' and that by hand."""
    if probes is None or hand is None:
        return hand if probes is None else probes
    if probes.status == "broken":
        return probes
    if hand.status == "broken":
        return hand
    return hand if probes.status == "not judged" and hand.status == "met" else probes


def limit_said(facts: Iterable[ProbeFact], state: State, task: PlannedTask, now: datetime) -> LimitVerdict | None:
    """What is said of a task's limit by probes and by hand together."""
    return beside(worst(verdicts_on(facts, task.id)), hand_verdict(state, task, now))
