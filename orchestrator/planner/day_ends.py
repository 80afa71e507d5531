"""The rule of day-end cleans: after the last run of each day, before those who can do it go home."""

from dataclasses import dataclass, field

from orchestrator.planner.paths import attended, end_before
from orchestrator.planner.problem import Machine
from orchestrator.planner.upkeep import day_after, day_of
from orchestrator.planner.variables import Board, Literal, Path, Term


@dataclass(slots=True)
class _Day:
    """On which day a run is, as terms."""

    ends: Term
    closes: Term
    literals: dict[int, Literal] = field(default_factory=dict)


def day_ends(board: Board) -> None:
    """Run j follows run i on the same day, or after i's day-end clean d(i) on a later one.

    last(i) says that i is the last of its day: d(i) ≥ e(i), d(i) + minutes ≤ close of the day, and the next run starts
    on a later day. Otherwise the next starts before the day is over. A run on a machine is on exactly one day. A run
    that has happened owes its clean as long as somebody can do it.
    """
    for path in board.paths.values():
        if path.machine.day_end:
            _path(board, path)


def _path(board: Board, path: Path) -> None:
    days = {run: _day(board, path, run) for run in path.runs}
    last = {run: _last(board, path, run) for run in path.runs}
    for run in path.runs:
        path.fresh[run] = board.literal(_guessed_fresh(board, path, run))
        board.model.add_implication(path.fresh[run], board.at(run).on[path.index])
        board.model.add_implication(last[run], board.at(run).on[path.index])
    owed = path.condition.owed
    if owed is not None:
        last[-1] = _last(board, path, -1)
        days[-1] = _Day(day_after(board.problem, path.machine, owed), path.machine.days[owed][1])
    for first, day in days.items():
        _closes(board, path, first, last[first], day)
    for (first, then), arc in path.arcs.items():
        if then < 0:
            if first in last:
                board.model.add_implication(arc, last[first])
        elif first not in last:
            board.model.add_implication(arc, ~path.fresh[then])
        else:
            start = board.at(then).start
            board.model.add(path.fresh[then] == last[first]).only_enforce_if(arc)
            board.model.add(start >= days[first].ends).only_enforce_if(arc, last[first])
            board.model.add(start < days[first].ends).only_enforce_if(arc, ~last[first])


def _closes(board: Board, path: Path, run: int, last: Literal, day: _Day) -> None:
    clean = attended(board, path, run, "day-end", last)
    board.model.add(clean.start >= end_before(board, path, run)).only_enforce_if(last)
    board.model.add(clean.start + clean.minutes <= day.closes).only_enforce_if(last)


def _day(board: Board, path: Path, run: int) -> _Day:
    """Σ over days of in(k) · end(k), and of its close; s(j) within day k if in(k)."""
    machine, place, there = path.machine, board.place(run), board.at(run).on[path.index]
    known = board.constants.get(run)
    if known is not None:
        day = day_of(machine, known.start)
        return _Day(day_after(board.problem, machine, day), machine.days[day][1])
    found: dict[int, Literal] = {}
    guessed = day_of(machine, place.start) if place is not None and place.machine == path.index else None
    for day in _possible(board, machine, run):
        found[day] = board.literal(day == guessed)
        board.model.add(board.at(run).start >= machine.days[day][0]).only_enforce_if(found[day])
        board.model.add(board.at(run).start < day_after(board.problem, machine, day)).only_enforce_if(found[day])
    board.model.add(sum(found.values()) == there)
    ends = sum(day_after(board.problem, machine, day) * inside for day, inside in found.items())
    return _Day(ends, sum(machine.days[day][1] * inside for day, inside in found.items()), found)


def _possible(board: Board, machine: Machine, run: int) -> list[int]:
    """Days on which a run can start and its day-end clean be done."""
    found = set()
    for a, b in board.at(run).starts:
        found |= set(range(day_of(machine, a), day_of(machine, b - 1) + 1))
    return sorted(day for day in found if machine.days[day][1] > max(machine.days[day][0], board.problem.now))


def _last(board: Board, path: Path, run: int) -> Literal:
    """Whether a run is the last of its day."""
    if run >= 0 and run not in path.guessed:
        return board.literal(False)
    after = path.guessed[path.guessed.index(run) + 1 :] if run >= 0 else path.guessed
    return board.literal(not after or _guessed_fresh(board, path, after[0]))


def _guessed_fresh(board: Board, path: Path, run: int) -> bool:
    """Whether the guess has the run before this one on another day."""
    if run not in path.guessed:
        return False
    position = path.guessed.index(run)
    day = _guessed_day(board, path, run)
    before = _guessed_day(board, path, path.guessed[position - 1]) if position else path.condition.owed
    return before is not None and before != day


def _guessed_day(board: Board, path: Path, run: int) -> int | None:
    place = board.place(run)
    return None if place is None else day_of(path.machine, place.start)
