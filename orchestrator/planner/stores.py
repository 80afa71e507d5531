"""Stays in stores: until when they have room, and taking it for them."""

from orchestrator.planner import bits
from orchestrator.planner.lags import Lag
from orchestrator.planner.placed import Placed
from orchestrator.planner.problem import Place
from orchestrator.planner.rooms import Use


class Stores(Placed):
    """Adds stays to what is placed. Those with one end open take their least."""

    def stays_allow(self, job: int, found: int, minutes: int | None = None) -> int:
        """Starts for which the stores beside this job have room, if it lasts so many minutes (else its shortest)."""
        minutes = self.problem.jobs[job].shortest if minutes is None else minutes
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
        return found

    def _stay_room(self, stay: int) -> list[int]:
        """Per machine that could hold a stay: minutes at which it fits, its own place apart."""
        job, rooms = self.problem.jobs[stay], []
        machines = job.machines
        if job.fixed is not None:
            machines = () if job.fixed.machine is None else (job.fixed.machine,)
        for machine in machines:
            if job.fixed is not None:
                rooms.append(self.slots.room_for_fact(machine, stay, job.load))
            elif stay in self.slots.uses[machine]:
                rooms.append(self.slots.room_without(machine, stay))
            else:
                rooms.append(self.slots.room(machine, job.load))
        return rooms

    def _room_until(self, stay: int, since: int) -> int:
        """Until when a stay that starts at ``since`` fits."""
        rooms = self._stay_room(stay)
        ends = [bits.first(~room & self.everywhere, since) for room in rooms]
        horizon = self.problem.horizon
        return max((horizon if end is None else end for end in ends), default=horizon)

    def _room_since(self, stay: int, until: int) -> int:
        """Since when a stay that ends at ``until`` fits."""
        rooms = self._stay_room(stay)
        starts = [bits.last(~room & self.everywhere, until - 1) for room in rooms]
        return min((0 if start is None else start + 1 for start in starts), default=0)

    def _room_for_least(self, stay: int) -> int:
        """Minutes at which a stay of its least length could begin."""
        job = self.problem.jobs[stay]
        shortest = job.shortest
        if shortest == 0 or not job.machines:
            return self.everywhere
        if job.fixed is None and self.places.get(stay) is None:
            found = 0
            for machine in job.machines:
                found |= self.slots.room_for(machine, job.load, shortest)
            return found
        rooms = self._stay_room(stay)
        if not rooms:
            return self.everywhere
        found = 0
        for room in rooms:
            found |= bits.runs(room, shortest)
        return found

    def fill_stores(self, job: int) -> bool:
        """Take room for the stays beside a job; those whose other end is open take their least."""
        start, end = self.starts[job], self.end(job)
        if not self.keep_until_taken(job):
            return False
        for lag in self.net.into[job]:
            since = self.end(lag.before) if lag.before in self.starts else start - lag.least
            if lag.stay is not None and not self._store(lag.stay, since, start):
                return False
        for lag in self.net.out[job]:
            until = self.starts.get(lag.job, end + lag.least)
            if lag.stay is not None and not self._store(lag.stay, end, until):
                return False
        return True

    def keep_until_taken(self, job: int) -> bool:
        """Take room for what is there already until a job takes it; False if there is not enough."""
        fits = True
        for anchor in self.net.anchors[job]:
            fixed = self.problem.jobs[anchor.stay].fixed
            if fixed is not None:
                fits = self._store(anchor.stay, fixed.start, self.starts[job]) and fits
        return fits

    def store_surplus(self) -> None:
        """Keep what nobody takes, last of all: where there is no room for it, it has no place."""
        for job, rests in self.net.rests.items():
            for stay in rests if job in self.starts else ():
                self._store(stay, self.end(job), self.problem.horizon)

    def _store(self, stay: int, start: int, end: int) -> bool:
        job = self.problem.jobs[stay]
        self.unstore(stay)
        wanted = bits.span(start, end)
        if job.fixed is not None:
            self.journal.put(self.places, stay, Place(start, end, job.fixed.machine))
            if job.fixed.machine is None:
                return True
            ahead = wanted & ~bits.span(0, self.problem.now)
            room = self.slots.room_for_fact(job.fixed.machine, stay, job.load)
            self.slots.use(job.fixed.machine, stay, Use(start, end, job.load, movable=False))
            return room & ahead == ahead
        for machine in self.preferred(stay):
            if self.slots.room(machine, job.load) & wanted == wanted:
                self.slots.use(machine, stay, Use(start, end, job.load))
                self.journal.put(self.places, stay, Place(start, end, machine))
                return True
        self.journal.put(self.places, stay, Place(start, end))
        return not job.machines

    def unstore(self, stay: int) -> None:
        if stay not in self.places:
            return
        place = self.journal.drop(self.places, stay)
        if place.machine is not None:
            self.slots.leave(place.machine, stay)

    def other_end(self, lag: Lag, job: int) -> int:
        return lag.before if lag.job == job else lag.job

    def reopen(self, lag: Lag, removed: int) -> None:
        """A stay one end of which is gone keeps its least at the other."""
        if lag.stay is None:
            return
        if removed == lag.job:
            end = self.end(lag.before)
            self._store(lag.stay, end, end + lag.least)
        else:
            start = self.starts[lag.job]
            self._store(lag.stay, start - lag.least, start)
