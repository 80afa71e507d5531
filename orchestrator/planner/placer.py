"""Puts work in its place, one job at a time, and takes it out again: serial generation's hands."""

from collections import Counter

from orchestrator.planner import bits
from orchestrator.planner.journal import Journal
from orchestrator.planner.lags import Network
from orchestrator.planner.patience import Patience
from orchestrator.planner.problem import Job, Place, Problem, Schedule, minutes_on
from orchestrator.planner.rooms import Use
from orchestrator.planner.runs import Runs
from orchestrator.planner.stores import Stores
from orchestrator.planner.structure import portion_at, portion_span
from orchestrator.planner.warm import Warm


class Placer(Runs, Stores, Warm):
    """Where everything is so far. `domain` says where a job could go, `commit` puts it there."""

    def __init__(
        self, problem: Problem, net: Network, *, careful: bool = False, patience: Patience | None = None
    ) -> None:
        super().__init__(problem, net, careful=careful, patience=patience)
        self._busy = _busyness(problem)
        for index, job in enumerate(problem.jobs):
            if job.fixed is not None:
                self._fix(index, job)
        for index in self.starts:
            self.fill_stores(index)  # what lies between a fact and work that is held in place
        self.journal.forget()
        self.prepare_facts()

    # Facts

    def _fix(self, index: int, job: Job) -> None:
        fixed = job.fixed
        assert fixed is not None
        end = fixed.end
        if job.stay and end is None:
            consumers = [a.low for a in self.net.takers[index]]
            end = max([fixed.start, self.problem.now, *consumers]) if consumers else self.problem.horizon
        elif end is None:
            end = max(fixed.start + job.shortest, self.problem.now)
        place = Place(fixed.start, end, fixed.machine, ())
        hands = tuple(self._fixed_hands(job, portion, place) for portion in range(len(job.portions)))
        self.places[index] = Place(fixed.start, end, fixed.machine, hands)
        if fixed.machine is not None:
            self.slots.use(fixed.machine, index, Use(fixed.start, end, job.load, movable=False))
        if not job.stay:
            self.starts[index] = fixed.start

    def _fixed_hands(self, job: Job, portion: int, place: Place) -> tuple[int, ...]:
        """Whoever began it ends it, or another who is there by then."""
        assert job.fixed is not None
        start, end = portion_span(job, portion, place)
        ahead = max(start, self.problem.now)
        if end <= ahead:
            return job.fixed.workers
        first = job.fixed.workers + tuple(w for w in job.workers if w not in job.fixed.workers)
        who = self.slots.who(first, job.hands, ahead, end) or job.fixed.workers or job.workers[: job.hands]
        self.slots.book(who, ahead, end)
        return who

    def copy(self) -> "Placer":
        """An independent copy; for a trial that is to be forgotten, the journal is cheaper."""
        other = object.__new__(Placer)
        other.__dict__.update(self.__dict__)
        other.journal = Journal()
        other.slots = self.slots.copy(other.journal)
        other.starts, other.places, other.lengths = dict(self.starts), dict(self.places), dict(self.lengths)
        other.given_up = set(self.given_up)
        return other

    # Where a job could go

    def domain(self, job: int, low: int, high: int) -> int:
        """Minutes from low to high at which a job could start, given all that is placed."""
        self.patience.looks -= 1
        found = 0
        made = self.problem.jobs[job]
        for minutes, machines in self.by_minutes(job):
            there = tuple(m for m in machines if minutes in self.options(job, m)) if made.crowded else machines
            found |= self._domain(job, (low, high), minutes, there) if there or not machines else 0
        return found

    def _domain(self, job: int, span: tuple[int, int], minutes: int, machines: tuple[int, ...]) -> int:
        """The same of machines on which it takes so many minutes."""
        made, (low, high) = self.problem.jobs[job], span
        found = bits.span(low, high + 1)
        if made.varies:
            found &= self._beside(job, minutes)
        if machines and found:
            there = 0
            for machine in machines:
                there |= self.machine_starts(machine, job, low, high, minutes)
            found &= there
        for index in range(len(made.portions)):
            start, end = portion_at(made, index, minutes)
            if end > start and found:
                found &= self.slots.attended(made.workers, made.hands, end - start) >> start
        return self.stays_allow(job, found, minutes) if found else 0

    def _beside(self, job: int, minutes: int) -> int:
        """Starts that keep the lags to what is placed after a job, if it lasts so long: its bounds allow any length."""
        low, high = 0, self.problem.horizon
        for lag in self.net.out[job]:
            start, most = self.starts.get(lag.job), self.net.most(lag)
            if start is not None:
                high = min(high, start - lag.least - minutes)
                low = max(low, low if most is None else start - most - minutes)
        return bits.span(low, high + 1)

    def machine_starts(self, machine: int, job: int, low: int, high: int, minutes: int | None = None) -> int:
        """Minutes at which a job could start on a machine, clean-downs around it included.

        Args:
            machine: The machine.
            job: The job.
            low: From when on the answer matters.
            high: Until when.
            minutes: How long it is to take there; else its usual time.

        Returns:
            A set that is right from ``low`` to ``high``.
        """
        made, what = self.problem.machines[machine], self.problem.jobs[job]
        if not made.shared and made.capacity is not None and what.load > made.capacity:
            return 0
        minutes = minutes_on(what, machine) if minutes is None else minutes
        if minutes == 0:
            return self.everywhere
        starts = self.slots.room_for(machine, what.load, minutes)
        if made.alone is not None and starts:
            starts &= self.heat_allows(machine, job, minutes)
        if made.kept and what.family is not None and starts:
            starts &= self.between_runs(machine, job, low, high)
        return starts

    def takes(self, machine: int, job: int, place: Place) -> bool:
        """Whether a machine has room for a job at a place, upkeep apart."""
        made, what, minutes = self.problem.machines[machine], self.problem.jobs[job], place.end - place.start
        if not made.shared and made.capacity is not None and what.load > made.capacity:
            return False
        wanted = bits.span(place.start, place.end)
        if self.slots.room(machine, what.load) & wanted != wanted:
            return False
        return made.alone is None or bits.has(self.heat_allows(machine, job, minutes), place.start)

    # Putting in and taking out

    def commit(self, job: int, start: int) -> bool:
        """Place a job; False, with the slots in disorder, if it does not fit after all."""
        self.patience.looks -= 1
        made = self.problem.jobs[job]
        place = self._place(job, start)
        if place is None:
            return False
        machine, hands, end = place.machine, place.workers, place.end
        self.journal.put(self.starts, job, start)
        self.journal.put(self.places, job, place)
        if made.varies:
            self.journal.put(self.lengths, job, end - start)
        for index, who in enumerate(hands):
            self.slots.book(who, *portion_span(made, index, place))
        if machine is not None:
            self.slots.use(machine, job, Use(start, end, made.load))
            if self.problem.machines[machine].kept and made.family and not self.clean_around(machine, job):
                return False
        return self.fill_stores(job)

    def _place(self, job: int, start: int) -> Place | None:
        """The machine it would best be on, and its hands; none if it does not fit after all."""
        made = self.problem.jobs[job]
        for machine in self.preferred(job):
            for minutes in self.options(job, machine):
                if not bits.has(self.machine_starts(machine, job, start, start, minutes), start):
                    continue
                if made.varies and not bits.has(self._beside(job, minutes), start):
                    continue
                hands = self._hands(job, Place(start, start + minutes))
                if hands is not None:
                    return Place(start, start + minutes, machine, hands)
                if not made.varies:
                    return None
        hands = None if made.machines else self._hands(job, Place(start, start + made.shortest))
        return None if hands is None else Place(start, start + made.shortest, None, hands)

    def _hands(self, job: int, place: Place) -> tuple[tuple[int, ...], ...] | None:
        """Who attends: those of the plan before, else whoever is asked for least."""
        made, before = self.problem.jobs[job], self.before(job)
        chosen: list[tuple[int, ...]] = []
        for index in range(len(made.portions)):
            known = before.workers[index] if before is not None and index < len(before.workers) else ()
            ranked = sorted(made.workers, key=lambda w: (w not in known, *self._rank(w, chosen)))
            start, end = portion_span(made, index, place)
            who = self.slots.who(ranked, made.hands, start, end)
            if who is None:
                return None
            chosen.append(who)
        return tuple(chosen)

    def _rank(self, worker: int, chosen: list[tuple[int, ...]]) -> tuple[bool, bool, int, int]:
        """Whoever began a task ends it; those in reserve come last, and before them those asked for most."""
        began = bool(chosen) and worker in chosen[-1]
        return not began, self.problem.workers[worker].reserve, self._busy[worker], worker

    def remove(self, job: int) -> bool:
        """Take a job out again, with the stays beside it; False if what is left lacks a clean-down."""
        place = self.journal.drop(self.places, job)
        self.journal.drop(self.starts, job)
        if job in self.lengths:
            self.journal.drop(self.lengths, job)
        made = self.problem.jobs[job]
        for index, who in enumerate(place.workers):
            self.slots.release(who, *portion_span(made, index, place))
        clean = True
        if place.machine is not None:
            runs = self.slots.sequence(place.machine)
            self.slots.leave(place.machine, job)
            if made.family is not None and self.problem.machines[place.machine].kept:
                clean = self.close_gap(place.machine, runs, job)
        for lag in (*self.net.into[job], *self.net.out[job]):
            if lag.stay is not None and self.other_end(lag, job) not in self.starts:
                self.unstore(lag.stay)
            elif lag.stay is not None:
                self.reopen(lag, job)
        for stay in self.net.rests[job]:
            self.unstore(stay)
        return clean

    # What came of it

    def schedule(self, method: str) -> Schedule:
        """All places so far; work given up, and stays without both their ends, have none."""
        self.store_surplus()
        places: list[Place | None] = []
        for index, job in enumerate(self.problem.jobs):
            place = self.places.get(index)
            places.append(self.stay_place(index) if job.stay else place)
        return Schedule(tuple(places), tuple(self.upkeep()), method)

    def stay_place(self, stay: int) -> Place | None:
        """From the work that fills a stay to the work that ends it; none where one of them has no place."""
        job, place = self.problem.jobs[stay], self.places.get(stay)
        if job.fixed is not None and job.fixed.end is not None:
            return place
        machine = place.machine if place is not None else None
        if job.fixed is not None:
            ends = [self.starts[a.job] for a in self.net.takers[stay] if a.job in self.starts]
            spent = max(self.problem.now, min(job.fixed.start + job.longest, self.problem.horizon))
            return Place(job.fixed.start, min(ends, default=spent), job.fixed.machine)
        fills = [link.after for link in job.after if link.most == 0]
        if not fills or fills[-1] not in self.starts:
            return None
        lags = [lag for lag in self.net.out[fills[-1]] if lag.stay == stay]
        ends = [self.starts[lag.job] for lag in lags if lag.job in self.starts]
        if lags and not ends:
            return None
        start = self.end(fills[-1])
        return Place(start, min(ends, default=min(start + job.longest, self.problem.horizon)), machine)


def placed_again(problem: Problem, net: Network, schedule: Schedule, patience: Patience | None = None) -> Placer:
    """Facts and all that a schedule has placed, to ask what is still free beside it."""
    placer = Placer(problem, net, patience=patience)
    for index, (job, place) in enumerate(zip(problem.jobs, schedule.places, strict=True)):
        if place is None or job.fixed is not None:
            continue
        placer.places[index] = place
        if not job.stay:
            placer.starts[index] = place.start
            if job.varies:
                placer.lengths[index] = place.end - place.start
            for portion, who in enumerate(place.workers):
                placer.slots.book(who, *portion_span(job, portion, place))
        if place.machine is not None:
            placer.slots.use(place.machine, index, Use(place.start, place.end, job.load))
    for taker in placer.starts:
        placer.keep_until_taken(taker)  # food already there is in the way until then, not for its least alone
    for clean in schedule.cleans:
        placer.slots.book(clean.workers, clean.start, clean.end)
        placer.put_clean(clean)
    return placer


def _busyness(problem: Problem) -> list[int]:
    """How many jobs could ask for each person: those asked for least are taken first."""
    asked = Counter(worker for job in problem.jobs for worker in job.workers)
    return [asked[worker] for worker in range(len(problem.workers))]
