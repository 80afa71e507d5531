"""What machines and people are free for, as work is put in and taken out again."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from orchestrator.planner import bits
from orchestrator.planner.journal import Journal
from orchestrator.planner.problem import CleanDown, Problem, Upkeep


@dataclass(frozen=True, slots=True)
class Use:
    """A stretch on a machine."""

    start: int
    end: int
    load: int
    movable: bool = True


For = tuple[Literal["run", "cold", "day"], int]
"""What upkeep is for: the cleaning before a run, the pre-cool before it, or the clean at the end of a day."""


class _Memo:
    """What has been worked out about one machine; void once anything changes there."""

    __slots__ = ("levels", "rooms", "runs")

    def __init__(self) -> None:
        self.levels: list[tuple[int, int]] | None = None
        self.rooms: dict[tuple[int, bool], int] = {}
        self.runs: dict[tuple[int, int], int] = {}


class Slots:
    """Machines and people over the horizon; the journal takes back what a trial changed."""

    def __init__(self, problem: Problem, journal: Journal | None = None) -> None:
        """Nothing is used yet, and everybody is free while they work."""
        self.problem = problem
        self.journal = journal or Journal()
        self.limit = problem.horizon
        self._everywhere = bits.span(0, problem.horizon)
        ahead = bits.span(problem.now, problem.horizon)
        self._works = [ahead & _union(worker.free) for worker in problem.workers]
        self.hands: dict[int, int] = dict(enumerate(self._works))
        """Of each worker: minutes at which they are free."""
        self.uses: dict[int, dict[int, Use]] = {i: {} for i in range(len(problem.machines))}
        self.cleans: dict[int, dict[For, CleanDown]] = {i: {} for i, m in enumerate(problem.machines) if m.kept}
        """Of each machine to which something is done between runs, by what it is for."""
        self._stops = [_union(machine.stops) for machine in problem.machines]
        self._before = {(c.machine, c.before, c.kind): c for c in problem.cleans_before}
        self._memo = {i: _Memo() for i in range(len(problem.machines))}
        self._spells: dict[int, dict[int, int]] = {i: {} for i in range(len(problem.workers))}
        """Of each worker: minutes from which they are free for so long, as far as worked out."""

    def copy(self, journal: Journal) -> "Slots":
        """An independent copy."""
        other = object.__new__(Slots)
        other.__dict__.update(self.__dict__)
        other.journal, other.hands = journal, dict(self.hands)
        other.uses = {machine: dict(uses) for machine, uses in self.uses.items()}
        other.cleans = {machine: dict(cleans) for machine, cleans in self.cleans.items()}
        other._memo = {i: _Memo() for i in self._memo}
        other._spells = {i: {} for i in self._spells}
        return other

    # Machines

    def use(self, machine: int, job: int, use: Use) -> None:
        """Put a job on a machine, whether it fits or not."""
        self.journal.put(self.uses[machine], job, use)
        self.journal.put(self._memo, machine, _Memo())

    def leave(self, machine: int, job: int) -> None:
        """Take a job off a machine."""
        if job in self.uses[machine]:
            self.journal.drop(self.uses[machine], job)
            self.journal.put(self._memo, machine, _Memo())

    def empty(self, machine: int) -> None:
        """Take everything off a machine."""
        self.journal.put(self.uses, machine, {})
        self.journal.put(self._memo, machine, _Memo())
        if machine in self.cleans:
            self.journal.put(self.cleans, machine, {})

    def room(self, machine: int, load: int, *, stops: bool = True) -> int:
        """Minutes at which so much more fits on a machine."""
        rooms, key = self._memo[machine].rooms, (load, stops)
        found = rooms.get(key)
        if found is None:
            found = self._room(machine, load)
            if stops:
                found &= ~self._stops[machine]
            rooms[key] = found
        return found

    def room_for(self, machine: int, load: int, minutes: int) -> int:
        """Minutes from which so much more fits on a machine for so long."""
        found = self._memo[machine].runs.get((load, minutes))
        if found is None:
            found = bits.runs(self.room(machine, load), minutes)
            self._memo[machine].runs[load, minutes] = found
        return found

    def room_without(self, machine: int, job: int) -> int:
        """`room` for as much as a job takes there, its own place left out."""
        uses = self.uses[machine]
        own = uses.pop(job)
        memo, self._memo[machine] = self._memo[machine], _Memo()
        found = self.room(machine, own.load)
        uses[job], self._memo[machine] = own, memo
        return found

    def room_for_fact(self, machine: int, job: int, load: int) -> int:
        """Minutes at which what is there already may stay: also where facts alone overfill a machine."""
        planned, uses = 0, {j: use for j, use in self.uses[machine].items() if j != job}
        for use in uses.values():
            if use.movable:
                planned |= bits.span(use.start, use.end)
        return self._fits(machine, load, uses.values()) | (self._everywhere & ~planned)

    def _room(self, machine: int, load: int) -> int:
        memo = self._memo[machine]
        made = self.problem.machines[machine]
        if made.shared and made.capacity is not None and load <= made.capacity:
            if memo.levels is None:
                memo.levels = _levels(self.uses[machine].values())
            return self._everywhere & ~_crowded(memo.levels, made.capacity - load)
        return self._fits(machine, load, self.uses[machine].values())

    def _fits(self, machine: int, load: int, uses: Iterable[Use]) -> int:
        made = self.problem.machines[machine]
        if not made.shared:
            blocked = 0
            for use in uses:
                blocked |= bits.span(use.start, use.end)
            return self._everywhere & ~blocked
        if made.capacity is None:
            return self._everywhere
        return self._everywhere & ~_crowded(_levels(uses), made.capacity - load) if load <= made.capacity else 0

    # Hands

    def spells(self, worker: int, minutes: int) -> int:
        """Minutes from which somebody is free for so long."""
        found = self._spells[worker].get(minutes)
        if found is None:
            found = self._spells[worker][minutes] = bits.runs(self.hands[worker], minutes)
        return found

    def attended(self, workers: tuple[int, ...], hands: int, minutes: int) -> int:
        """Minutes at which so many of these people are free for so long."""
        one = two = 0
        for worker in workers:
            free = self.spells(worker, minutes)
            two |= one & free
            one |= free
        return one if hands == 1 else two

    def who(self, workers: Iterable[int], hands: int, start: int, end: int) -> tuple[int, ...] | None:
        """The first of these people who are free; none if they are too few."""
        wanted = bits.span(0, end - start)
        found: list[int] = []
        for worker in workers:
            if (self.hands[worker] >> start) & wanted == wanted:
                found.append(worker)
                if len(found) == hands:
                    return tuple(found)
        return None

    def book(self, workers: tuple[int, ...], start: int, end: int) -> None:
        """They are busy."""
        for worker in workers:
            self._set(worker, self.hands[worker] & ~bits.span(start, end))

    def release(self, workers: tuple[int, ...], start: int, end: int) -> None:
        """They are free again, as far as they work then."""
        for worker in workers:
            self._set(worker, self.hands[worker] | (bits.span(start, end) & self._works[worker]))

    def set_hands(self, hands: dict[int, int]) -> None:
        """Everybody is free at these minutes and no others."""
        for worker, free in hands.items():
            self._set(worker, free)

    def _set(self, worker: int, free: int) -> None:
        self.journal.put(self.hands, worker, free)
        self.journal.put(self._spells, worker, {})

    # Upkeep

    def unstopped(self, machine: int, minutes: int) -> int:
        """Minutes before which a machine is not stopped for so long."""
        return bits.runs(self._everywhere & ~self._stops[machine], minutes) << minutes

    def first_clean(self, machine: int, kind: Upkeep, span: tuple[int, int], extra: CleanDown | None) -> int | None:
        """When somebody could soonest begin to clean within a span; ``extra`` is a clean-down that is given up."""
        minutes = self.problem.machines[machine].takes(kind)
        if span[1] - span[0] < minutes:
            return None
        if self.who(self.problem.machines[machine].able(kind), 1, span[0], span[0] + minutes):
            return span[0]
        return bits.first(self._clean_slots(machine, kind, span, extra), span[0])

    def last_clean(self, machine: int, kind: Upkeep, span: tuple[int, int], extra: CleanDown | None) -> int | None:
        """When somebody could last begin to clean within a span."""
        minutes = self.problem.machines[machine].takes(kind)
        if span[1] - span[0] < minutes:
            return None
        if self.who(self.problem.machines[machine].able(kind), 1, span[1] - minutes, span[1]):
            return span[1] - minutes
        return bits.last(self._clean_slots(machine, kind, span, extra), span[1])

    def _clean_slots(self, machine: int, kind: Upkeep, span: tuple[int, int], extra: CleanDown | None) -> int:
        """Minutes at which a clean-down could begin that lies within a span."""
        minutes, found = self.problem.machines[machine].takes(kind), 0
        for worker in self.problem.machines[machine].able(kind):
            if extra is not None and worker in extra.workers:
                found |= bits.runs(self.hands[worker] | bits.span(extra.start, extra.end), minutes)
            else:
                found |= self.spells(worker, minutes)
        return found & bits.span(span[0], span[1] - minutes + 1)

    def set_clean(self, machine: int, kind: Upkeep, before: int, span: tuple[int, int], key: For) -> bool:
        """Place cleaning at the latest instant of a span, at the end of a day at the soonest; False if nobody can."""
        clean = self._as_before(machine, kind, before, span)
        if clean is None:
            pick = self.first_clean if kind == "day-end" else self.last_clean
            start, made = pick(machine, kind, span, None), self.problem.machines[machine]
            who = None if start is None else self.who(made.able(kind), 1, start, start + made.takes(kind))
            if start is None or who is None:
                return False
            clean = CleanDown(machine, before, kind, start, start + made.takes(kind), who)
        self.put_clean(clean, key)
        return True

    def put_clean(self, clean: CleanDown, key: For) -> None:
        """Place upkeep, whether it fits or not."""
        self.book(clean.workers, clean.start, clean.end)
        self.journal.put(self.cleans[clean.machine], key, clean)

    def _as_before(self, machine: int, kind: Upkeep, before: int, span: tuple[int, int]) -> CleanDown | None:
        """Cleaning where the plan before had it, if that still holds."""
        clean = self._before.get((machine, before, kind))
        if clean is None or clean.start < span[0] or clean.end > span[1]:
            return None
        return None if self.who(clean.workers, len(clean.workers), clean.start, clean.end) is None else clean

    def drop_clean(self, machine: int, key: For) -> None:
        """Give up upkeep, if there is any for this."""
        if key in self.cleans[machine]:
            clean = self.journal.drop(self.cleans[machine], key)
            self.release(clean.workers, clean.start, clean.end)


def _union(spans: tuple[tuple[int, int], ...]) -> int:
    minutes = 0
    for start, end in spans:
        minutes |= bits.span(start, end)
    return minutes


def _levels(uses: Iterable[Use]) -> list[tuple[int, int]]:
    """(minute, load from then on), in time."""
    steps: dict[int, int] = {}
    for use in uses:
        if use.end > use.start:
            steps[use.start] = steps.get(use.start, 0) + use.load
            steps[use.end] = steps.get(use.end, 0) - use.load
    found, level = [], 0
    for instant in sorted(steps):
        level += steps[instant]
        found.append((instant, level))
    return found


def _crowded(levels: list[tuple[int, int]], room: int) -> int:
    """Minutes at which the loads sum to more than ``room``."""
    blocked = 0
    since: int | None = None
    for instant, level in levels:
        if level > room:
            since = instant if since is None else since
        elif since is not None:
            blocked |= bits.span(since, instant)
            since = None
    return blocked
