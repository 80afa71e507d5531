"""The rule of heat: what freezes at its usual pace has little warm food beside it, whatever else is in the machine."""

from typing import NamedTuple

from ortools.sat.python import cp_model

from orchestrator.planner.problem import minutes_of
from orchestrator.planner.score_work import profile
from orchestrator.planner.variables import Board


class _Load(NamedTuple):
    """Warm food in a machine, for as long as it may be there in one way."""

    job: int
    interval: cp_model.IntervalVar
    load: int
    span: tuple[int, int] | None
    """Where its place is known."""
    usual: bool
    """At its usual pace, which must not become too short."""


def heat(board: Board) -> None:
    """While a job of usual pace is in a machine, Σ load ≤ alone over all work in it, its own included.

    For each such job one cumulative of the capacity Σ load of all: its own interval counts as that less what is left
    beside it, alone − load, so that the others may be as many as they like before and after. What takes its crowded
    minutes is not protected. A freezer's power is shared: two warm batches cool each other's air.
    """
    for machine, kind in enumerate(board.problem.machines):
        if kind.alone is None:
            continue
        loads = _loads(board, machine)
        for own in (load for load in loads if load.usual):
            _protect(board, own, [other for other in loads if other.job != own.job], kind.alone)


def _protect(board: Board, own: _Load, others: list[_Load], alone: int) -> None:
    beside = alone - own.load
    if own.span is not None:
        since, until = own.span
        others = [o for o in others if o.span is None or (o.span[0] < until and since < o.span[1])]
        known = [(*o.span, o.load) for o in others if o.span is not None]
        # More than that may be there by now: facts are not asked to make room.
        beside = max(beside, *(load for start, end, load in profile(known) if start < until and since < end), 0)
    if all(other.span is not None for other in others) and own.span is not None:
        return
    most = sum(other.load for other in others) + own.load + alone
    intervals = [own.interval, *(other.interval for other in others)]
    board.model.add_cumulative(intervals, [most - beside, *(other.load for other in others)], most)


def _loads(board: Board, machine: int) -> list[_Load]:
    found: list[_Load] = []
    for index, job, jobvars in board.placed():
        if job.stay:
            continue
        place = board.constants.get(index)
        if place is not None:
            if place.machine == machine and place.end > place.start:
                interval = board.model.new_fixed_size_interval_var(place.start, place.end - place.start, "")
                usual = job.fixed is None and place.end - place.start < minutes_of(job, machine)[-1]
                found.append(_Load(index, interval, job.load, (place.start, place.end), usual))
            continue
        longest = minutes_of(job, machine)[-1] if machine in job.machines else 0
        for (on, minutes), there in jobvars.modes.items():
            if on == machine and minutes > 0:
                interval = board.model.new_optional_fixed_size_interval_var(jobvars.start, minutes, there, "")
                found.append(_Load(index, interval, job.load, None, minutes < longest))
    return found
