"""What machines and people are free for, as work is put in and taken out again."""

from collections.abc import Iterable
from dataclasses import dataclass

from orchestrator.planner import bits
from orchestrator.planner.journal import Journal
from orchestrator.planner.problem import CleanDown, Family, Problem


@dataclass(frozen=True, slots=True)
class Use:
    """A stretch on a machine."""

    start: int
    end: int
    load: int
    movable: bool = True


def clean_minutes(problem: Problem, machine: int, before: Family | None, run: Family | None) -> int:
    """How long the clean-down between two runs takes; 0 for none."""
    if before is None or run is None or before.base == run.base:
        return 0
    made = problem.machines[machine]
    return made.full if before.drops_to(run) else made.rinse


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
        self.cleans: dict[int, dict[int, CleanDown]] = {i: {} for i, m in enumerate(problem.machines) if m.cleaners}
        """Of each machine with clean-downs, by the run that each prepares."""
        self._stops = [_union(machine.stops) for machine in problem.machines]
        self._before = {(c.machine, c.before, c.full): c for c in problem.cleans_before}
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

    # Clean-downs

    def first_clean(self, machine: int, minutes: int, span: tuple[int, int], extra: CleanDown | None) -> int | None:
        """When somebody could soonest begin to clean within a span; ``extra`` is a clean-down that is given up."""
        if span[1] - span[0] < minutes:
            return None
        if self.who(self.problem.machines[machine].cleaners, 1, span[0], span[0] + minutes):
            return span[0]
        return bits.first(self._clean_slots(machine, minutes, span, extra), span[0])

    def last_clean(self, machine: int, minutes: int, span: tuple[int, int], extra: CleanDown | None) -> int | None:
        """When somebody could last begin to clean within a span."""
        if span[1] - span[0] < minutes:
            return None
        if self.who(self.problem.machines[machine].cleaners, 1, span[1] - minutes, span[1]):
            return span[1] - minutes
        return bits.last(self._clean_slots(machine, minutes, span, extra), span[1])

    def _clean_slots(self, machine: int, minutes: int, span: tuple[int, int], extra: CleanDown | None) -> int:
        """Minutes at which a clean-down could begin that lies within a span."""
        found = 0
        for worker in self.problem.machines[machine].cleaners:
            if extra is not None and worker in extra.workers:
                found |= bits.runs(self.hands[worker] | bits.span(extra.start, extra.end), minutes)
            else:
                found |= self.spells(worker, minutes)
        return found & bits.span(span[0], span[1] - minutes + 1)

    def set_clean(self, machine: int, before: int, span: tuple[int, int], *, full: bool) -> bool:
        """Place a clean-down at the latest instant of a span; False if nobody can do it."""
        made = self.problem.machines[machine]
        minutes = made.full if full else made.rinse
        if self._clean_as_before(machine, before, span, full=full):
            return True
        start = self.last_clean(machine, minutes, span, None)
        if start is None:
            return False
        who = self.who(made.cleaners, 1, start, start + minutes)
        if who is None:
            return False
        self.book(who, start, start + minutes)
        self.journal.put(self.cleans[machine], before, CleanDown(machine, before, full, start, start + minutes, who))
        return True

    def _clean_as_before(self, machine: int, before: int, span: tuple[int, int], *, full: bool) -> bool:
        """Leave a clean-down where the plan before had it, if that still holds."""
        clean = self._before.get((machine, before, full))
        if clean is None or clean.start < span[0] or clean.end > span[1]:
            return False
        if self.who(clean.workers, len(clean.workers), clean.start, clean.end) is None:
            return False
        self.book(clean.workers, clean.start, clean.end)
        self.journal.put(self.cleans[machine], before, clean)
        return True

    def drop_clean(self, machine: int, before: int) -> None:
        """Give up a clean-down."""
        if before in self.cleans[machine]:
            clean = self.journal.drop(self.cleans[machine], before)
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
