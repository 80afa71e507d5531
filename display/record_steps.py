"""What a batch record shows of each step: the readings of its time, its limits, and how they were kept."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import Final

from display import curves
from display.batch_record import Record
from display.batch_record import Step as Done
from display.panels import Showing
from orchestrator.core.by_hand import hand_verdict, readings_of
from orchestrator.core.by_probes import worst_verdict
from orchestrator.core.ids import TaskId
from orchestrator.core.models import Kitchen, ProbeFact, TaskKind
from orchestrator.core.models.kitchen import Probe
from orchestrator.core.models.recipe import Target
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.plan_index import kitchen_index
from orchestrator.core.state import TaskStatus
from orchestrator.ports.event_log import Reading

DRAWN: Final = 2
"""Probes of one step that are drawn."""


@dataclass(frozen=True)
class Bounds:
    """What is asked of a step's temperature, in °C."""

    at_least_c: float | None = None
    at_most_c: float | None = None
    target: Target | None = None
    grace_min: float = 0.0

    def broken(self, celsius: float) -> bool:
        """Whether a reading lies outside."""
        low, high = self.at_least_c, self.at_most_c
        return (low is not None and celsius < low) or (high is not None and celsius > high)


@dataclass(frozen=True)
class Outside:
    """Readings outside the limits of a place."""

    count: int
    first: datetime
    last: datetime
    worst_c: float
    longest_min: float
    """Longest time from one to another of them without one inside between."""


@dataclass(frozen=True)
class Measured:
    """What one probe said during a step."""

    probe: Probe
    trace: curves.Trace
    outside: Outside | None


@dataclass(frozen=True)
class StepLook:
    """One step, or the parts of one stay that began together."""

    parts: list[Done]
    since: datetime | None
    until: datetime | None
    """None: still in hand."""
    bounds: Bounds
    measured: list[Measured]
    fact: ProbeFact | None
    """What the curve meant for the step's target, as last put on record."""
    kept: LimitVerdict | None
    """What was last said of the limit of a stay or a draw; a probe in the food speaks before one in the air."""
    by_hand: LimitVerdict | None
    """What readings by hand say of the step's limit."""
    hand_trace: curves.Trace | None
    """Readings by hand where no probe drew a curve."""
    outcome: str

    @property
    def first(self) -> Done:
        """What all parts have in common is read here."""
        return self.parts[0]


def looks(showing: Showing, record: Record) -> list[StepLook]:
    """Every step of the record that was begun or left out, in the order of time."""
    found = []
    for _, parts in groupby(record.steps, key=_together):
        found.append(_look(showing, record, list(parts)))
    return found


def _together(step: Done) -> tuple[object, ...]:
    if step.task.kind is not TaskKind.STAY or step.record.started_at is None:
        return (step.task.id,)
    return (step.task.title, step.equipment, step.record.started_at)


def _look(showing: Showing, record: Record, parts: list[Done]) -> StepLook:
    first, kitchen = parts[0], showing.kitchen
    since = first.record.started_at
    ends = [p.record.finished_at for p in parts]
    until = max((end for end in ends if end), default=None) if all(ends) else None
    bounds = _bounds(kitchen, first)
    hands = [(at, celsius) for part in parts for at, celsius, _ in readings_of(part.record)]
    measured = _measured(showing, first, bounds, (since, until or showing.now), hands) if since else []
    ids = {p.task.id for p in parts}
    fact = next((m.fact for m in reversed(record.temperatures) if m.fact.task in ids), None)
    kept = _limit_kept(record, first.task.id)
    by_hand = hand_verdict(showing.snapshot.state, first.task, showing.now)
    drawn = None
    if since and hands and not measured:
        asked = bounds.target.celsius if bounds.target else None
        low, high = bounds.at_least_c, bounds.at_most_c
        drawn = curves.trace(
            [], since, until or showing.now, 0.0, at_least_c=low, at_most_c=high, target_c=asked, by_hand=hands
        )
    outcome = _outcome(parts, bounds, measured, fact)
    if by_hand is not None and by_hand.status == "broken" and outcome != "skipped":
        outcome = "broken"
    return StepLook(parts, since, until, bounds, measured, fact, kept, by_hand, drawn, outcome)


def _limit_kept(record: Record, task: TaskId) -> LimitVerdict | None:
    last = {m.fact.probe: m.fact for m in record.temperatures if any(kept.task == task for kept in m.fact.kept)}
    return worst_verdict(last.values(), task)


def _bounds(kitchen: Kitchen, step: Done) -> Bounds:
    if step.task.kind is TaskKind.STAY:
        place = step.record.equipment or step.task.equipment
        holds = next((e.holds for e in kitchen.equipment if e.id == place), None)
        return Bounds(holds.low, holds.high, None, holds.grace) if holds else Bounds()
    recipe = kitchen_index(kitchen).made_by(step.task)
    made = next((s for s in recipe.steps if s.id == step.task.step), None) if recipe else None
    target = made.target if made else None
    return Bounds(None, target.ceiling, target) if target else Bounds()


def _measured(
    showing: Showing,
    step: Done,
    bounds: Bounds,
    between: tuple[datetime, datetime],
    hands: Sequence[tuple[datetime, float]],
) -> list[Measured]:
    """The probes of the place: those in the food for work, those of its air for a stay, where it has such."""
    since, until = between
    place = step.record.equipment or step.task.equipment
    here = [p for p in showing.kitchen.probes if p.equipment == place]
    wanted = "air" if step.task.kind is TaskKind.STAY else "core"
    found: list[Measured] = []
    for probe in [p for p in here if p.reads == wanted] or here:
        readings = [r for r in showing.gateway.readings(probe.id, since, until) if since <= r.measured_at <= until]
        low, high = (bounds.at_least_c, bounds.at_most_c) if probe.reads == wanted else (None, None)
        target = bounds.target if probe.reads == wanted else None
        trace = curves.trace(
            readings,
            since,
            until,
            probe.silent_after,
            at_least_c=low,
            at_most_c=high,
            target_c=target.celsius if target else None,
            always=True,
            by_hand=() if found else hands,
        )
        if trace and trace.count:
            out = outside(readings, Bounds(low, high), probe.silent_after)
            found.append(Measured(probe, trace, out))
    return found[:DRAWN]


def outside(readings: Sequence[Reading], bounds: Bounds, silent_after_min: float) -> Outside | None:
    """How far and how long readings were outside; none when none was. A silence ends an unbroken time."""
    out = [r for r in readings if bounds.broken(r.celsius)]
    if not out:
        return None
    longest = timedelta(0)
    for run in curves.runs_of(readings, timedelta(minutes=silent_after_min)):
        for broken, group in groupby(run, key=lambda r: bounds.broken(r.celsius)):
            unbroken = list(group)
            if broken:
                longest = max(longest, unbroken[-1].measured_at - unbroken[0].measured_at)
    high = bounds.at_most_c
    over = [r for r in out if high is not None and r.celsius > high]
    worst = max(r.celsius for r in over) if over else min(r.celsius for r in out)
    minutes = longest.total_seconds() / 60
    return Outside(len(out), out[0].measured_at, out[-1].measured_at, worst, minutes)


def _outcome(parts: list[Done], bounds: Bounds, measured: list[Measured], fact: ProbeFact | None) -> str:
    """A key of the words ``outcome_…``: what is on record, never a judgement of the food."""
    entry = parts[0].record
    if entry.status is TaskStatus.SKIPPED:
        return "skipped"
    too_long = any(m.outside is not None and m.outside.longest_min > bounds.grace_min for m in measured)
    if too_long or (fact is not None and fact.ceiling_broken_at is not None):
        return "broken"
    if entry.reason:
        return "overridden"
    in_hand = any(p.record.status is TaskStatus.IN_HAND for p in parts)
    if bounds.target is not None:
        return "met" if _target_met(bounds.target, parts, fact) else "in_hand" if in_hand else "not_shown"
    return _kept(bounds, measured, in_hand)


def _kept(bounds: Bounds, measured: list[Measured], in_hand: bool) -> str:
    if bounds.at_most_c is None:
        return "in_hand" if in_hand else "done"
    if not measured:
        return "not_measured"
    return "kept_gaps" if any(m.trace.gaps for m in measured) else "kept"


def _target_met(target: Target, parts: list[Done], fact: ProbeFact | None) -> bool:
    if fact is not None and fact.met_at is not None:
        return True
    by_hand = [celsius for part in parts for _, celsius in part.record.hand_readings]
    least, most = target.at_least, target.at_most
    # One reading by hand shows that a target was reached, not that it was held.
    return not target.hold and any((least is None or c >= least) and (most is None or c <= most) for c in by_hand)
