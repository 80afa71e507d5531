"""What machines and people are free for, as work is put in and taken out again."""

from collections.abc import Iterable
from dataclasses import dataclass

from orchestrator.planner import bits
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


class Slots:
    """Machines and people over the horizon; copied before a trial, so that a trial can be forgotten."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.limit = problem.horizon
        ahead = bits.span(problem.now, problem.horizon)
        self.hands = [ahead & _union(worker.free) for worker in problem.workers]
        self.uses: list[dict[int, Use]] = [{} for _ in problem.machines]
        self.cleans: dict[int, dict[int, CleanDown]] = {i: {} for i, m in enumerate(problem.machines) if m.cleaners}
        """Of each machine with clean-downs, by the run that each prepares."""
        self._stops = [_union(machine.stops) for machine in problem.machines]
        self._memo: list[dict[tuple[int, bool], int]] = [{} for _ in problem.machines]

    def copy(self) -> "Slots":
        """An independent copy."""
        other = object.__new__(Slots)
        other.problem, other.limit, other._stops = self.problem, self.limit, self._stops
        other.hands = list(self.hands)
        other.uses = [dict(uses) for uses in self.uses]
        other.cleans = {machine: dict(cleans) for machine, cleans in self.cleans.items()}
        other._memo = [dict(memo) for memo in self._memo]
        return other

    # Machines

    def use(self, machine: int, job: int, use: Use) -> None:
        """Put a job on a machine, whether it fits or not."""
        self.uses[machine][job] = use
        self._memo[machine] = {}

    def leave(self, machine: int, job: int) -> None:
        """Take a job off a machine."""
        if self.uses[machine].pop(job, None) is not None:
            self._memo[machine] = {}

    def empty(self, machine: int) -> None:
        """Take everything off a machine."""
        self.uses[machine], self._memo[machine] = {}, {}
        if machine in self.cleans:
            self.cleans[machine] = {}

    def room(self, machine: int, load: int, *, stops: bool = True) -> int:
        """Minutes at which so much more fits on a machine."""
        key = (load, stops)
        if key not in self._memo[machine]:
            free = self._room(machine, load)
            self._memo[machine][key] = free & ~self._stops[machine] if stops else free
        return self._memo[machine][key]

    def room_for_fact(self, machine: int, load: int) -> int:
        """Minutes at which what is there already may stay: also where facts alone overfill a machine."""
        planned = 0
        for use in self.uses[machine].values():
            if use.movable:
                planned |= bits.span(use.start, use.end)
        return self.room(machine, load, stops=False) | (bits.span(0, self.limit) & ~planned)

    def _room(self, machine: int, load: int) -> int:
        made, everywhere = self.problem.machines[machine], bits.span(0, self.limit)
        uses = self.uses[machine].values()
        if not made.shared:
            blocked = 0
            for use in uses:
                blocked |= bits.span(use.start, use.end)
            return everywhere & ~blocked
        if made.capacity is None:
            return everywhere
        if load > made.capacity:
            return 0
        return everywhere & ~_crowded(uses, made.capacity - load)

    # Hands

    def attended(self, workers: tuple[int, ...], hands: int, minutes: int) -> int:
        """Minutes at which so many of these people are free for so long."""
        one = two = 0
        for worker in workers:
            free = bits.runs(self.hands[worker], minutes)
            two |= one & free
            one |= free
        return one if hands == 1 else two

    def who(self, workers: tuple[int, ...], hands: int, start: int, end: int) -> tuple[int, ...] | None:
        """The first of these people who are free; none if they are too few."""
        wanted = bits.span(start, end)
        free = tuple(w for w in workers if self.hands[w] & wanted == wanted)
        return free[:hands] if len(free) >= hands else None

    def book(self, workers: tuple[int, ...], start: int, end: int) -> None:
        """They are busy."""
        for worker in workers:
            self.hands[worker] &= ~bits.span(start, end)

    def release(self, workers: tuple[int, ...], start: int, end: int) -> None:
        """They are free again, as far as they work then."""
        for worker in workers:
            free = _union(self.problem.workers[worker].free) & bits.span(self.problem.now, self.limit)
            self.hands[worker] |= bits.span(start, end) & free

    # Clean-downs

    def clean_slots(self, machine: int, minutes: int, extra: CleanDown | None) -> int:
        """Minutes at which somebody could clean for so long; ``extra`` is a clean-down that would be given up."""
        cleaners = self.problem.machines[machine].cleaners
        found = 0
        for worker in cleaners:
            free = self.hands[worker]
            if extra is not None and worker in extra.workers:
                free |= bits.span(extra.start, extra.end)
            found |= bits.runs(free, minutes)
        return found

    def set_clean(self, machine: int, before: int, span: tuple[int, int], *, full: bool) -> bool:
        """Place a clean-down at the latest instant of a span; False if nobody can do it."""
        made = self.problem.machines[machine]
        minutes = made.full if full else made.rinse
        if self._clean_as_before(machine, before, span, full=full):
            return True
        start = bits.last(self.clean_slots(machine, minutes, None) & bits.span(span[0], span[1] - minutes + 1), span[1])
        if start is None:
            return False
        who = self.who(made.cleaners, 1, start, start + minutes)
        if who is None:
            return False
        self.book(who, start, start + minutes)
        self.cleans[machine][before] = CleanDown(machine, before, full, start, start + minutes, who)
        return True

    def _clean_as_before(self, machine: int, before: int, span: tuple[int, int], *, full: bool) -> bool:
        """Leave a clean-down where the plan before had it, if that still holds."""
        for clean in self.problem.cleans_before:
            same = (clean.machine, clean.before, clean.full) == (machine, before, full)
            if same and span[0] <= clean.start and clean.end <= span[1]:
                if self.who(clean.workers, len(clean.workers), clean.start, clean.end) is None:
                    return False
                self.book(clean.workers, clean.start, clean.end)
                self.cleans[machine][before] = clean
                return True
        return False

    def drop_clean(self, machine: int, before: int) -> None:
        """Give up a clean-down."""
        clean = self.cleans[machine].pop(before, None)
        if clean is not None:
            self.release(clean.workers, clean.start, clean.end)


def _union(spans: tuple[tuple[int, int], ...]) -> int:
    minutes = 0
    for start, end in spans:
        minutes |= bits.span(start, end)
    return minutes


def _crowded(uses: Iterable[Use], room: int) -> int:
    """Minutes at which the loads sum to more than ``room``."""
    steps: dict[int, int] = {}
    for use in uses:
        if use.end > use.start:
            steps[use.start] = steps.get(use.start, 0) + use.load
            steps[use.end] = steps.get(use.end, 0) - use.load
    blocked = level = 0
    since: int | None = None
    for instant in sorted(steps):
        level += steps[instant]
        if level > room and since is None:
            since = instant
        elif level <= room and since is not None:
            blocked |= bits.span(since, instant)
            since = None
    return blocked
