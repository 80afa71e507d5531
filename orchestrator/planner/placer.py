"""Puts work in its place, one job at a time, and takes it out again: serial generation's hands."""

from orchestrator.planner import bits
from orchestrator.planner.lags import Anchor, Lag, Network
from orchestrator.planner.problem import Family, Job, Place, Problem, Schedule
from orchestrator.planner.slots import Slots, Use, clean_minutes
from orchestrator.planner.structure import portion_span


class Placer:
    """Where everything is so far. `domain` says where a job could go, `commit` puts it there."""

    def __init__(self, problem: Problem, net: Network) -> None:
        self.problem, self.net = problem, net
        self.slots = Slots(problem)
        self.starts: dict[int, int] = {}
        self.places: dict[int, Place] = {}
        self.given_up: set[int] = set()
        self._all = bits.span(0, problem.horizon + 1)
        self._busy = _busyness(problem)
        for index, job in enumerate(problem.jobs):
            if job.fixed is not None:
                self._fix(index, job)

    # Facts

    def _fix(self, index: int, job: Job) -> None:
        fixed = job.fixed
        assert fixed is not None
        end = fixed.end
        if job.stay and end is None:
            consumers = [a.low for anchors in self.net.anchors.values() for a in anchors if a.stay == index]
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
        """An independent copy, to fall back on."""
        other = object.__new__(Placer)
        other.__dict__.update(self.__dict__)
        other.slots = self.slots.copy()
        other.starts, other.places = dict(self.starts), dict(self.places)
        other.given_up = set(self.given_up)
        return other

    def restore(self, other: "Placer") -> None:
        """Become what the copy was; the copy is used up."""
        self.__dict__.update(other.__dict__)

    def end(self, job: int) -> int:
        """When placed work ends."""
        return self.places[job].end

    # Where a job could go

    def domain(self, job: int, low: int, high: int) -> int:
        """Minutes from low to high at which a job could start, given all that is placed."""
        made = self.problem.jobs[job]
        found = bits.span(low, high + 1)
        if made.machines:
            there = 0
            for machine in made.machines:
                there |= self._machine_starts(machine, job)
            found &= there
        for index in range(len(made.portions)):
            offset, minutes = self._portion(made, index)
            if minutes and found:
                found &= self.slots.attended(made.workers, made.hands, minutes) >> offset
        return self._stays_allow(job, found) if found else 0

    def _portion(self, job: Job, index: int) -> tuple[int, int]:
        start, end = portion_span(job, index, Place(0, job.shortest))
        return start, end - start

    def _machine_starts(self, machine: int, job: int) -> int:
        made, what = self.problem.machines[machine], self.problem.jobs[job]
        if not made.shared and made.capacity is not None and what.load > made.capacity:
            return 0
        if what.shortest == 0:
            return self._all
        starts = bits.runs(self.slots.room(machine, what.load), what.shortest)
        if made.cleaners and what.family is not None and starts:
            starts &= self._between_runs(machine, job)
        return starts

    def runs(self, machine: int) -> list[tuple[int, int, int]]:
        """Runs on a machine that are still to come or in hand: (start, end, job), in time."""
        uses = self.slots.uses[machine].items()
        jobs, now = self.problem.jobs, self.problem.now
        return sorted((u.start, u.end, j) for j, u in uses if jobs[j].family and (u.movable or u.end > now))

    def clean_for(self, machine: int) -> Family | None:
        """What a machine is clean for before the first of `runs`."""
        if machine in self.problem.families_before:
            return self.problem.families_before[machine]
        jobs = self.problem.jobs
        ended = [
            (use.start, job)
            for job, use in self.slots.uses[machine].items()
            if not use.movable and use.end <= self.problem.now and jobs[job].family
        ]
        return jobs[max(ended)[1]].family if ended else None

    def _between_runs(self, machine: int, job: int) -> int:
        """Starts that leave time, before and after, for the clean-downs and for somebody to do them."""
        made = self.problem.jobs[job]
        end, before, found = self.problem.now, self.clean_for(machine), 0
        for start, until, run in [*self.runs(machine), (self.problem.horizon, 0, -1)]:
            old = self.slots.cleans[machine].get(run)
            low, high = end, start
            first = clean_minutes(self.problem, machine, before, made.family)
            after = self.problem.jobs[run].family if run >= 0 else None
            second = clean_minutes(self.problem, machine, made.family, after)
            if first:
                slot = bits.first(self.slots.clean_slots(machine, first, old), end)
                low = self.problem.horizon if slot is None else slot + first
            if second:
                slot = bits.last(self.slots.clean_slots(machine, second, old), start - second)
                high = -1 if slot is None else slot
            found |= bits.span(low, high - made.shortest + 1)
            end, before = until, after
        return found

    def _stays_allow(self, job: int, found: int) -> int:
        """Starts for which the stores beside this job have room."""
        minutes = self.problem.jobs[job].shortest
        for anchor in self.net.anchors[job]:
            fixed = self.problem.jobs[anchor.stay].fixed
            since = fixed.start if fixed is not None else 0
            found &= bits.span(0, self._room_until(anchor.stay, max(since, self.problem.now)) + 1)
        for lag in self.net.into[job]:
            if lag.stay is None:
                continue
            if lag.before in self.starts:
                found &= bits.span(0, self._room_until(lag.stay, self.end(lag.before)) + 1)
            else:
                found &= bits.shifted(self._room_for_least(lag.stay), self.problem.jobs[lag.stay].shortest)
        for lag in self.net.out[job]:
            if lag.stay is None:
                continue
            if lag.job in self.starts:
                since = self._room_since(lag.stay, self.starts[lag.job])
                found &= bits.span(since - minutes, self.problem.horizon + 1)
            else:
                found &= self._room_for_least(lag.stay) >> minutes
        for stay in self.net.rests[job]:
            since = self._room_since(stay, self.problem.horizon)
            found &= bits.span(since - minutes, self.problem.horizon + 1)
        return found

    def _stay_room(self, stay: int) -> list[int]:
        """Per machine that could hold a stay: minutes at which it fits, its own place apart."""
        job, rooms = self.problem.jobs[stay], []
        machines = job.machines
        if job.fixed is not None:
            machines = () if job.fixed.machine is None else (job.fixed.machine,)
        for machine in machines:
            own = self.slots.uses[machine].get(stay)
            if own is not None:
                self.slots.leave(machine, stay)
            rooms.append(self.slots.room(machine, job.load, stops=job.fixed is None))
            if own is not None:
                self.slots.use(machine, stay, own)
        return rooms

    def _room_until(self, stay: int, since: int) -> int:
        """Until when a stay that starts at ``since`` fits."""
        rooms = self._stay_room(stay)
        ends = [bits.first(~room & self._all, since) for room in rooms]
        horizon = self.problem.horizon
        return max((horizon if end is None else end for end in ends), default=horizon)

    def _room_since(self, stay: int, until: int) -> int:
        """Since when a stay that ends at ``until`` fits."""
        rooms = self._stay_room(stay)
        starts = [bits.last(~room & self._all, until - 1) for room in rooms]
        return min((0 if start is None else start + 1 for start in starts), default=0)

    def _room_for_least(self, stay: int) -> int:
        """Minutes at which a stay of its least length could begin."""
        shortest = self.problem.jobs[stay].shortest
        rooms = self._stay_room(stay)
        if not rooms or shortest == 0:
            return self._all
        found = 0
        for room in rooms:
            found |= bits.runs(room, shortest)
        return found

    # Putting in and taking out

    def commit(self, job: int, start: int) -> bool:
        """Place a job; False, with the slots in disorder, if it does not fit after all."""
        made = self.problem.jobs[job]
        end = start + made.shortest
        machine = next((m for m in self._preferred(job) if bits.has(self._machine_starts(m, job), start)), None)
        if made.machines and machine is None:
            return False
        hands = self._hands(job, Place(start, end))
        if hands is None:
            return False
        place = Place(start, end, machine, hands)
        self.starts[job], self.places[job] = start, place
        for index, who in enumerate(hands):
            self.slots.book(who, *portion_span(made, index, place))
        if machine is not None:
            self.slots.use(machine, job, Use(start, end, made.load))
            if self.problem.machines[machine].cleaners and made.family and not self._clean_around(machine, job):
                return False
        return self._fill_stores(job)

    def _preferred(self, job: int) -> tuple[int, ...]:
        machines, before = self.problem.jobs[job].machines, self._before(job)
        if before is None or before.machine not in machines:
            return machines
        return (before.machine, *(m for m in machines if m != before.machine))

    def _before(self, job: int) -> Place | None:
        return self.problem.previous[job] if self.problem.previous else None

    def _hands(self, job: int, place: Place) -> tuple[tuple[int, ...], ...] | None:
        """Who attends: those of the plan before, else whoever is asked for least."""
        made, before = self.problem.jobs[job], self._before(job)
        chosen = []
        for index in range(len(made.portions)):
            known = before.workers[index] if before is not None and index < len(before.workers) else ()
            ranked = sorted(made.workers, key=lambda w: (w not in known, self._busy[w], w))
            start, end = portion_span(made, index, place)
            who = self.slots.who(tuple(ranked), made.hands, start, end)
            if who is None:
                return None
            chosen.append(who)
        return tuple(chosen)

    def _clean_around(self, machine: int, job: int) -> bool:
        """Renew the clean-downs before a new run and before the one after it."""
        runs = self.runs(machine)
        position = next(i for i, run in enumerate(runs) if run[2] == job)
        ok = True
        if position + 1 < len(runs):
            self.slots.drop_clean(machine, runs[position + 1][2])
            ok = self._clean(machine, runs, position + 1)
        return self._clean(machine, runs, position) and ok

    def _clean(self, machine: int, runs: list[tuple[int, int, int]], position: int) -> bool:
        """Place the clean-down that the run at this position needs after the one before it."""
        start, _, run = runs[position]
        jobs = self.problem.jobs
        end = runs[position - 1][1] if position else self.problem.now
        before = jobs[runs[position - 1][2]].family if position else self.clean_for(machine)
        minutes = clean_minutes(self.problem, machine, before, jobs[run].family)
        fixed = jobs[run].fixed is not None
        if not minutes or fixed:
            return True
        full = before is not None and jobs[run].family is not None and not _grows(before, jobs[run].family)
        return self.slots.set_clean(machine, run, (end, start), full=full)

    def _fill_stores(self, job: int) -> bool:
        """Take room for the stays beside a job; those whose other end is open take their least."""
        start, end = self.starts[job], self.end(job)
        for anchor in self.net.anchors[job]:
            fixed = self.problem.jobs[anchor.stay].fixed
            if fixed is not None and not self._store(anchor.stay, fixed.start, start):
                return False
        for lag in self.net.into[job]:
            since = self.end(lag.before) if lag.before in self.starts else start - lag.least
            if lag.stay is not None and not self._store(lag.stay, since, start):
                return False
        for lag in self.net.out[job]:
            until = self.starts.get(lag.job, end + lag.least)
            if lag.stay is not None and not self._store(lag.stay, end, until):
                return False
        return all(self._store(stay, end, self.problem.horizon) for stay in self.net.rests[job])

    def _store(self, stay: int, start: int, end: int) -> bool:
        job = self.problem.jobs[stay]
        self._unstore(stay)
        if job.fixed is not None:
            if job.fixed.machine is not None:
                self.slots.use(job.fixed.machine, stay, Use(start, end, job.load, movable=False))
            self.places[stay] = Place(start, end, job.fixed.machine)
            return True
        wanted = bits.span(start, end)
        for machine in self._preferred(stay):
            if self.slots.room(machine, job.load) & wanted == wanted:
                self.slots.use(machine, stay, Use(start, end, job.load))
                self.places[stay] = Place(start, end, machine)
                return True
        self.places[stay] = Place(start, end)
        return not job.machines

    def _unstore(self, stay: int) -> None:
        place = self.places.pop(stay, None)
        if place is not None and place.machine is not None:
            self.slots.leave(place.machine, stay)

    def remove(self, job: int) -> None:
        """Take a job out again, with the stays beside it."""
        place = self.places.pop(job)
        del self.starts[job]
        made = self.problem.jobs[job]
        for index, who in enumerate(place.workers):
            self.slots.release(who, *portion_span(made, index, place))
        if place.machine is not None:
            runs = self.runs(place.machine)
            self.slots.leave(place.machine, job)
            if made.family is not None and self.problem.machines[place.machine].cleaners:
                self._close_gap(place.machine, runs, job)
        for lag in (*self.net.into[job], *self.net.out[job]):
            if lag.stay is not None and self._other(lag, job) not in self.starts:
                self._unstore(lag.stay)
            elif lag.stay is not None:
                self._reopen(lag, job)
        for stay in self.net.rests[job]:
            self._unstore(stay)

    def _other(self, lag: Lag, job: int) -> int:
        return lag.before if lag.job == job else lag.job

    def _reopen(self, lag: Lag, removed: int) -> None:
        """A stay one end of which is gone keeps its least at the other."""
        if lag.stay is None:
            return
        if removed == lag.job:
            end = self.end(lag.before)
            self._store(lag.stay, end, end + lag.least)
        else:
            start = self.starts[lag.job]
            self._store(lag.stay, start - lag.least, start)

    def _close_gap(self, machine: int, runs: list[tuple[int, int, int]], gone: int) -> None:
        position = next(i for i, run in enumerate(runs) if run[2] == gone)
        self.slots.drop_clean(machine, gone)
        left = [run for run in runs if run[2] != gone]
        if position < len(left):
            self.slots.drop_clean(machine, left[position][2])
            # It fits: one of the two clean-downs just given up was at least as long.
            self._clean(machine, left, position)

    # What came of it

    def schedule(self, method: str) -> Schedule:
        """All places so far; work given up, and stays without both their ends, have none."""
        places: list[Place | None] = []
        for index, job in enumerate(self.problem.jobs):
            place = self.places.get(index)
            places.append(self._stay_place(index, job, place) if job.stay else place)
        cleans = tuple(c for by_run in self.slots.cleans.values() for c in by_run.values())
        return Schedule(tuple(places), tuple(sorted(cleans, key=lambda c: (c.start, c.machine))), method)

    def _stay_place(self, stay: int, job: Job, place: Place | None) -> Place | None:
        if job.fixed is not None and job.fixed.end is not None:
            return place
        machine = place.machine if place is not None else None
        if job.fixed is not None:
            ends = [self.starts[a.job] for a in self._anchors(stay) if a.job in self.starts]
            return Place(job.fixed.start, min(ends, default=self.problem.horizon), job.fixed.machine)
        fills = [link.after for link in job.after if link.most == 0]
        if not fills or fills[-1] not in self.starts:
            return None
        lags = [lag for lag in self.net.out[fills[-1]] if lag.stay == stay]
        ends = [self.starts[lag.job] for lag in lags if lag.job in self.starts]
        if lags and not ends:
            return None
        return Place(self.end(fills[-1]), min(ends, default=self.problem.horizon), machine)

    def _anchors(self, stay: int) -> list[Anchor]:
        return [a for anchors in self.net.anchors.values() for a in anchors if a.stay == stay]


def _grows(before: Family, run: Family | None) -> bool:
    return run is not None and before.allergens <= run.allergens


def _busyness(problem: Problem) -> list[int]:
    """How many jobs could ask for each person: those asked for least are taken first."""
    return [sum(worker in job.workers for job in problem.jobs) for worker in range(len(problem.workers))]
