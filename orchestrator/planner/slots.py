"""What machines and people are free for, upkeep included, as work is put in and taken out again."""

from collections.abc import Iterable
from typing import Literal

from orchestrator.planner import bits
from orchestrator.planner.journal import Journal
from orchestrator.planner.problem import CleanDown, Problem, Upkeep
from orchestrator.planner.rooms import Rooms, union

For = tuple[Literal["run", "cold", "day"], int]
"""What upkeep is for: the cleaning before a run, the pre-cool before it, or the clean at the end of a day."""


class Slots(Rooms):
    """Machines and people over the horizon; the journal takes back what a trial changed."""

    def __init__(self, problem: Problem, journal: Journal | None = None) -> None:
        """Nothing is used yet, and everybody is free while they work."""
        super().__init__(problem, journal or Journal())
        ahead = bits.span(problem.now, problem.horizon)
        self._works = [ahead & union(worker.free) for worker in problem.workers]
        self.hands: dict[int, int] = dict(enumerate(self._works))
        """Of each worker: minutes at which they are free."""
        self.cleans: dict[int, dict[For, CleanDown]] = {i: {} for i, m in enumerate(problem.machines) if m.kept}
        """Of each machine to which something is done between runs, by what it is for."""
        self._before = {(c.machine, c.before, c.kind): c for c in problem.cleans_before}
        self._spells: dict[int, dict[int, int]] = {i: {} for i in range(len(problem.workers))}
        """Of each worker: minutes from which they are free for so long, as far as worked out."""
        self._teams: dict[int, dict[tuple[tuple[int, ...], int, int], int]] = {0: {}}
        """The same of several together; void, all of it, once anybody's minutes change."""

    def copy(self, journal: Journal) -> "Slots":
        """An independent copy."""
        other = object.__new__(Slots)
        other.__dict__.update(self.__dict__)
        other.journal, other.hands = journal, dict(self.hands)
        other.uses = {machine: dict(uses) for machine, uses in self.uses.items()}
        other.cleans = {machine: dict(cleans) for machine, cleans in self.cleans.items()}
        other._memo, other.gaps = dict(self._memo), {}
        other._spells = {i: {} for i in self._spells}
        other._teams = {0: {}}
        return other

    def empty(self, machine: int) -> None:
        """Take everything off a machine, upkeep included."""
        super().empty(machine)
        if machine in self.cleans:
            self.journal.put(self.cleans, machine, {})

    # Hands

    def spells(self, worker: int, minutes: int) -> int:
        """Minutes from which somebody is free for so long."""
        found = self._spells[worker].get(minutes)
        if found is None:
            found = self._spells[worker][minutes] = bits.runs(self.hands[worker], minutes)
        return found

    def attended(self, workers: tuple[int, ...], hands: int, minutes: int) -> int:
        """Minutes from which so many of these people are free for so long."""
        teams, key = self._teams[0], (workers, hands, minutes)
        found = teams.get(key)
        if found is None:
            one = two = 0
            for worker in workers:
                free = self.spells(worker, minutes)
                two |= one & free
                one |= free
            found = teams[key] = one if hands == 1 else two
        return found

    def who(self, workers: Iterable[int], hands: int, start: int, end: int) -> tuple[int, ...] | None:
        """The first of these people who are free; none if they are too few, and none before minute 0."""
        if start < 0:
            return None
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
        self.journal.put(self._teams, 0, {})

    # Upkeep

    def unstopped(self, machine: int, minutes: int) -> int:
        """Minutes before which a machine is not stopped for so long."""
        return bits.runs(self._everywhere & ~self._stops[machine], minutes) << minutes

    def first_clean(self, machine: int, kind: Upkeep, span: tuple[int, int], extra: CleanDown | None) -> int | None:
        """When somebody could soonest begin to clean within a span; ``extra`` is a clean-down that is given up."""
        at = bits.first(self._clean_slots(machine, kind, extra), span[0])
        return at if at is not None and at <= span[1] - self.problem.machines[machine].takes(kind) else None

    def last_clean(self, machine: int, kind: Upkeep, span: tuple[int, int], extra: CleanDown | None) -> int | None:
        """When somebody could last begin to clean within a span."""
        minutes = self.problem.machines[machine].takes(kind)
        at = bits.last(self._clean_slots(machine, kind, extra), span[1] - minutes)
        return at if at is not None and at >= span[0] else None

    def _clean_slots(self, machine: int, kind: Upkeep, extra: CleanDown | None) -> int:
        """Minutes from which somebody could clean for as long as it takes."""
        made = self.problem.machines[machine]
        minutes, able = made.takes(kind), made.able(kind)
        found = self.attended(able, 1, minutes)
        if extra is None:
            return found
        for worker in set(extra.workers).intersection(able):
            begin = max(0, extra.start - minutes)
            near = (self.hands[worker] | bits.span(extra.start, extra.end)) >> begin
            found |= bits.runs(near & bits.span(0, extra.end + minutes - begin), minutes) << begin
        return found

    def set_clean(
        self, machine: int, kind: Upkeep, before: int, span: tuple[int, int], key: For, *, most: int | None = None
    ) -> bool:
        """Place cleaning at the latest instant of a span, at the end of a day at the soonest; False if nobody can.

        Where the plan before had it is good as long as it is over by ``most``, if that is given.
        """
        clean = self._as_before(machine, kind, before, span if most is None else (span[0], most))
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
        self.journal.put(self.gaps, clean.machine, ())

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
            self.journal.put(self.gaps, machine, ())
            self.release(clean.workers, clean.start, clean.end)
