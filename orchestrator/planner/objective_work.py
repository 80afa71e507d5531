"""What a schedule asks of machines and people, in variables: what `score_work` counts."""

import itertools
from collections.abc import Iterable

from ortools.sat.python import cp_model

from orchestrator.planner.problem import Place, minutes_on
from orchestrator.planner.score_work import (
    ANOTHER_HAND,
    CLEAN_PER_MIN,
    DAY_MIN,
    FULL_EACH,
    HEAT_PER_MIN,
    PEAK_EACH,
    RESERVE_PER_MIN,
    Level,
    busy_spans,
    daily_peaks,
    heats,
    profile,
)
from orchestrator.planner.structure import portion_at
from orchestrator.planner.variables import Attending, Board, JobVars, Literal, Term


def cleaning(board: Board) -> Term:
    """Clean-downs and idle heat at their prices."""
    parts: list[Term] = []
    for key, clean in board.cleans.items():
        parts.append((CLEAN_PER_MIN * clean.minutes + FULL_EACH * (key.kind == "full")) * clean.done)
    return sum([*parts, *_idle_heat(board)])


def _idle_heat(board: Board) -> list[Term]:
    """last(m, d) − first(m, d) for each machine m and day d, less the minutes of uses that exclude each other."""
    found: list[Term] = []
    for index, machine in enumerate(board.problem.machines):
        users = [(i, v) for i, job, v in board.movable() if heats(board.problem, job, index) and index in v.on]
        if not users:
            continue
        days = [_Day(board, index, day) for day in range(-(-board.problem.horizon // DAY_MIN))]
        for job, jobvars in users:
            used = _on_one_day(board, days, job, index, jobvars)
            minutes = minutes_on(board.problem.jobs[job], index)
            found += [] if machine.shared else [-HEAT_PER_MIN * minutes * used]
        found += [HEAT_PER_MIN * (day.last - day.first) for day in days]
    return found


class _Day:
    """First and last minute in which a machine is used on one day."""

    def __init__(self, board: Board, machine: int, day: int) -> None:
        self.day, self.begin = day, day * DAY_MIN
        jobs = board.problem.jobs
        known = self._uses(board, machine, board.constants.items())
        there = self._uses(board, machine, () if board.guess is None else enumerate(board.guess.places))
        end = self.begin + DAY_MIN
        first = min([end, *(place.start for place in known)])
        last = max([self.begin, *(place.end for place in known)])
        # Without any use first and last meet at the day's begin.
        self.first = board.integer(self.begin, first, min([place.start for place in there], default=self.begin))
        longest = max([job.longest for job in jobs if machine in job.machines and not job.stay], default=0)
        most = max(last, end + longest)
        self.last = board.integer(max(self.begin, last), most, max([place.end for place in there], default=self.begin))
        board.model.add(self.first <= self.last)

    def _uses(self, board: Board, machine: int, places: Iterable[tuple[int, Place | None]]) -> list[Place]:
        there = [(board.problem.jobs[i], p) for i, p in places if p is not None and p.machine == machine]
        return [place for job, place in there if heats(board.problem, job, machine) and self.holds(place)]

    def holds(self, place: Place) -> bool:
        return place.start // DAY_MIN == self.day


def _on_one_day(board: Board, days: list[_Day], index: int, machine: int, jobvars: JobVars) -> Term:
    """If the job is on the machine, it begins on one day, which is hot from its start to its end."""
    place, on = board.place(index), list[Literal]()
    there = place is not None and place.machine == machine
    for day in days:
        that_day = board.literal(there and place is not None and day.holds(place))
        board.model.add(jobvars.start >= max(day.begin, 0)).only_enforce_if(that_day)
        board.model.add(jobvars.start < day.begin + DAY_MIN).only_enforce_if(that_day)
        board.model.add(day.first <= jobvars.start).only_enforce_if(that_day)
        board.model.add(day.last >= jobvars.end).only_enforce_if(that_day)
        on.append(that_day)
    board.model.add(sum(on) == jobvars.on[machine])
    return sum(on)


def crew(board: Board) -> Term:
    """Peaks, reserve and tasks passed on at their prices."""
    parts: list[Term] = [PEAK_EACH * peak for peak in _peaks(board)]
    for index, job, jobvars in board.movable():
        if not job.stay and job.fixed is None:
            parts += _hands(board, index, jobvars)
    return sum([*parts, *_cleaners(board)])


def _peaks(board: Board) -> list[Literal]:
    """Most hands at once, for each day d: Σ hands ≤ peak(d) at each of its instants.

    One cumulative for all days: each day is filled up, from its begin to its end, to what is above its peak.
    """
    known = [span for i, place in board.constants.items() for span in busy_spans(board.problem.jobs[i], place)]
    levels = profile(known)
    least = daily_peaks(board.problem, levels)
    most = len(board.problem.workers) + max([0, *least])
    intervals = [board.model.new_fixed_size_interval_var(start, end - start, "") for start, end, _ in levels]
    demands: list[Term] = [hands for _, _, hands in levels]
    for interval, hands in _portions(board):
        intervals.append(interval)
        demands.append(hands)
    hints = daily_peaks(board.problem, profile(_guessed(board)))
    peaks = [board.integer(low, most, hint) for low, hint in zip(least, hints, strict=True)]
    for day, peak in enumerate(peaks):
        intervals.append(board.model.new_fixed_size_interval_var(day * DAY_MIN, DAY_MIN, ""))
        demands.append(most - peak)
    board.model.add_cumulative(intervals, demands, most)
    return peaks


def _guessed(board: Board) -> list[Level]:
    """Hands at work in the guess."""
    guess = board.guess
    if guess is None:
        return []
    found: list[Level] = [(clean.start, clean.end, len(clean.workers)) for clean in guess.cleans]
    for job, place in zip(board.problem.jobs, guess.places, strict=True):
        found += [] if place is None else busy_spans(job, place)
    return found


def _portions(board: Board) -> list[tuple[cp_model.IntervalVar, int]]:
    """Each portion and clean-down to be placed, and how many hands it needs."""
    found: list[tuple[cp_model.IntervalVar, int]] = []
    for _, job, jobvars in board.movable():
        for portion in range(len(jobvars.hands)):
            spans = {portion_at(job, portion, minutes) for minutes, _ in job.by_minutes}
            begin, end = min(spans)
            if len(spans) == 1 and end > begin:
                start, there = jobvars.start + begin, jobvars.present
                found.append(
                    (board.model.new_optional_fixed_size_interval_var(start, end - begin, there, ""), job.hands)
                )
            elif len(spans) > 1:
                found += [(_attended(board, jobvars, part), 1) for part in jobvars.attending if part.portion == portion]
    for clean in (clean for clean in board.cleans.values() if clean.hands):
        interval = board.model.new_optional_fixed_size_interval_var(clean.start, clean.minutes, clean.done, "")
        found.append((interval, 1))
    return found


def _attended(board: Board, jobvars: JobVars, part: Attending) -> cp_model.IntervalVar:
    start, minutes = jobvars.start + part.begin, part.end - part.begin
    return board.model.new_optional_fixed_size_interval_var(start, minutes, part.does, "")


def _hands(board: Board, index: int, jobvars: JobVars) -> list[Term]:
    """A price for minutes of those in reserve, and for each task that is passed on: Σ k(w), k ≤ h(i, w), h(i+1, w)."""
    problem, parts = board.problem, list[Term]()
    job, place = problem.jobs[index], board.place(index)
    spare = (part for part in jobvars.attending if problem.workers[part.worker].reserve)
    parts += [RESERVE_PER_MIN * (part.end - part.begin) * part.does for part in spare]
    for portion, (first, then) in enumerate(itertools.pairwise(jobvars.hands)):
        kept: list[Term] = []
        for worker in sorted(first.keys() & then.keys()):
            both = place is not None and all(worker in place.workers[n] for n in (portion, portion + 1))
            same = board.literal(both)
            board.model.add_implication(same, first[worker])
            board.model.add_implication(same, then[worker])
            kept.append(same)
        parts.append(ANOTHER_HAND * (job.hands * jobvars.present - sum(kept)))
    return parts


def _cleaners(board: Board) -> list[Term]:
    """A price for clean-downs by those in reserve."""
    return [
        RESERVE_PER_MIN * clean.minutes * does
        for clean in board.cleans.values()
        for worker, does in clean.hands.items()
        if board.problem.workers[worker].reserve
    ]
