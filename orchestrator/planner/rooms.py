"""What machines and stores have room for, as work is put in and taken out again."""

from bisect import insort
from dataclasses import dataclass
from typing import NamedTuple

from orchestrator.planner import bits
from orchestrator.planner.journal import Journal
from orchestrator.planner.levels import EMPTY, Levels, changed, crowded, levels_of
from orchestrator.planner.problem import Family, Problem
from orchestrator.planner.upkeep import happened


@dataclass(frozen=True, slots=True)
class Use:
    """A stretch on a machine."""

    start: int
    end: int
    load: int
    movable: bool = True


def union(spans: tuple[tuple[int, int], ...]) -> int:
    """Minutes in any of these spans."""
    minutes = 0
    for start, end in spans:
        minutes |= bits.span(start, end)
    return minutes


class Gap(NamedTuple):
    """Between two runs on a machine, and what the machine is in there."""

    start: int
    end: int
    family: Family | None
    """What it is clean for; none: for anything."""
    used: int | None
    """Start of the first run since its last thorough clean."""
    cold: int | None
    """When it last ran or was pre-cooled."""
    day: int | None
    """Of the run before, where a day-end clean follows it."""
    run: int
    """The next; -1: none."""
    after: int
    """The one before; -1: none."""


_BACK = 12
"""Changes that are looked back through for what is still known."""


class _Memo:
    """What has been worked out about one machine as it is now; another one once anything changes there."""

    __slots__ = ("before", "blocked", "levels", "rooms", "runs", "sequence")

    def __init__(self, blocked: int = 0, levels: Levels = EMPTY) -> None:
        self.before: tuple[_Memo, int, int, int] | None = None
        """What it was before the last change, between which minutes that was, and how many changes back this goes."""
        self.blocked = blocked
        """Minutes in which it is used at all."""
        self.levels = levels
        """Of what holds several things at once: how much is in it."""
        self.rooms: dict[tuple[int, bool], int] = {}
        self.runs: dict[tuple[int, int], int] = {}
        self.sequence: list[tuple[int, int, int]] | None = None


class Rooms:
    """Machines over the horizon; the journal takes back what a trial changed."""

    def __init__(self, problem: Problem, journal: Journal) -> None:
        """Nothing is used yet."""
        self.problem, self.journal = problem, journal
        self.limit = problem.horizon
        self._everywhere = bits.span(0, problem.horizon)
        self.uses: dict[int, dict[int, Use]] = {i: {} for i in range(len(problem.machines))}
        self._stops = [union(machine.stops) for machine in problem.machines]
        self._memo = {i: self._untouched(i) for i in range(len(problem.machines))}
        self.gaps: dict[int, tuple[Gap, ...]] = {}
        """Between the runs of a machine, as far as worked out; empty once runs or upkeep change."""

    def _untouched(self, machine: int) -> _Memo:
        """A machine into which no job has been put."""
        return _Memo(0, levels_of(self.problem.machines[machine].taken))

    def use(self, machine: int, job: int, use: Use) -> None:
        """Put a job on a machine, whether it fits or not."""
        self.leave(machine, job)
        self.journal.put(self.uses[machine], job, use)
        memo = self._memo[machine]
        if self._counts(machine):
            now = _Memo(0, changed(memo.levels, use.start, use.end, use.load))
        else:
            now = _Memo(memo.blocked | bits.span(use.start, use.end))
        if memo.sequence is not None:
            now.sequence = list(memo.sequence)
            if self._is_ahead(job, use):
                insort(now.sequence, (use.start, use.end, job))
        self._remember(machine, now, use)

    def leave(self, machine: int, job: int) -> None:
        """Take a job off a machine."""
        if job not in self.uses[machine]:
            return
        use, before = self.uses[machine][job], self._memo[machine].sequence
        memo = self._without(machine, use)
        if before is not None:
            memo.sequence = [run for run in before if run[2] != job]
        self._remember(machine, memo, use)
        self.journal.drop(self.uses[machine], job)

    def _remember(self, machine: int, memo: _Memo, change: Use | None = None) -> None:
        """What is known now; of what holds several things, most is as it was before the change."""
        before = self._memo[machine]
        back = 0 if before.before is None else before.before[3]
        if change is not None and back < _BACK and self._counts(machine):
            memo.before = before, change.start, change.end, back + 1
        self.journal.put(self._memo, machine, memo)
        self.journal.put(self.gaps, machine, ())

    def _without(self, machine: int, gone: Use) -> _Memo:
        memo = self._memo[machine]
        if self._counts(machine):
            return _Memo(0, changed(memo.levels, gone.start, gone.end, -gone.load))
        blocked = memo.blocked & ~bits.span(gone.start, gone.end)
        for use in self.uses[machine].values():
            if use is not gone and use.start < gone.end and use.end > gone.start:
                blocked |= bits.span(use.start, use.end)
        return _Memo(blocked)

    def _counts(self, machine: int) -> bool:
        """Whether it holds several things at once, up to a capacity."""
        made = self.problem.machines[machine]
        return made.shared and made.capacity is not None

    def empty(self, machine: int) -> None:
        """Take everything off a machine."""
        self.journal.put(self.uses, machine, {})
        self._remember(machine, self._untouched(machine))

    def room(self, machine: int, load: int, *, stops: bool = True) -> int:
        """Minutes at which so much more fits on a machine."""
        return self._room(machine, self._memo[machine], (load, stops))

    def _room(self, machine: int, memo: _Memo, key: tuple[int, bool]) -> int:
        found = memo.rooms.get(key)
        if found is None:
            found, span = self._known_before(memo, key)
            if span is None:
                found = self._fits(machine, key[0], memo)
            else:
                found = (found & ~bits.span(*span)) | self._fits(machine, key[0], memo, span)
            if key[1]:
                found &= ~self._stops[machine]
            memo.rooms[key] = found
        return found

    def _known_before(self, memo: _Memo, key: tuple[int, bool]) -> tuple[int, tuple[int, int] | None]:
        """What was known a few changes ago, and within which minutes it has changed since; no span: nothing."""
        low, high = self.limit, 0
        while memo.before is not None:
            memo, start, end, _ = memo.before
            low, high = min(low, start), max(high, end)
            if key in memo.rooms:
                return memo.rooms[key], (low, high)
        return 0, None

    def room_for(self, machine: int, load: int, minutes: int) -> int:
        """Minutes from which so much more fits on a machine for so long."""
        found = self._memo[machine].runs.get((load, minutes))
        if found is None:
            found = bits.runs(self.room(machine, load), minutes)
            self._memo[machine].runs[load, minutes] = found
        return found

    def room_without(self, machine: int, job: int) -> int:
        """`room` for as much as a job takes there, its own place left out."""
        own = self.uses[machine][job]
        return self._fits(machine, own.load, self._without(machine, own)) & ~self._stops[machine]

    def room_for_fact(self, machine: int, job: int, load: int) -> int:
        """Minutes at which what is there already may stay: also where facts alone overfill a machine."""
        planned, own = 0, self.uses[machine].get(job)
        for other, use in self.uses[machine].items():
            if other != job and use.movable:
                planned |= bits.span(use.start, use.end)
        memo = self._memo[machine] if own is None else self._without(machine, own)
        return self._fits(machine, load, memo) | (self._everywhere & ~planned)

    def _fits(self, machine: int, load: int, memo: _Memo, span: tuple[int, int] | None = None) -> int:
        """Minutes, all or those of a span, at which so much more fits."""
        made = self.problem.machines[machine]
        if not made.shared:
            return self._everywhere & ~memo.blocked
        if made.capacity is None:
            return self._everywhere
        if load > made.capacity:
            return 0
        all_of_it = self._everywhere if span is None else self._everywhere & bits.span(*span)
        return all_of_it & ~crowded(memo.levels, made.capacity - load, span)

    def sequence(self, machine: int) -> list[tuple[int, int, int]]:
        """(start, end, job) of the runs on a machine that have not begun, in time."""
        memo = self._memo[machine]
        if memo.sequence is None:
            uses = self.uses[machine].items()
            memo.sequence = sorted((use.start, use.end, job) for job, use in uses if self._is_ahead(job, use))
        return memo.sequence

    def _is_ahead(self, job: int, use: Use) -> bool:
        """Whether it is a run, and has not begun."""
        made = self.problem.jobs[job]
        return made.family is not None and (use.movable or not happened(self.problem, made))
