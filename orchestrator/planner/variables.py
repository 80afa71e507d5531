"""The variables of the constraint model, each with its hint: a hint that misses one variable is lost."""

from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from orchestrator.planner.free_time import Spans, both, common, less, merged, starts
from orchestrator.planner.limits import Limit, limits
from orchestrator.planner.problem import Due, Job, Machine, Place, Problem, Schedule, Upkeep, minutes_of
from orchestrator.planner.structure import Structure, Window, fixed_place, portion_at, portion_span, structure
from orchestrator.planner.upkeep import Condition

Term = cp_model.LinearExpr | int
Literal = cp_model.IntVar


@dataclass(slots=True)
class JobVars:
    """Where one job may be."""

    start: Term
    end: Term
    present: Literal
    starts: Spans = ()
    """Allowed starts of work that is still to be placed."""
    on: dict[int, Literal] = field(default_factory=dict)
    """Machine → whether the job is there."""
    modes: dict[tuple[int, int], Literal] = field(default_factory=dict)
    """Of work still to be placed: (machine, minutes) → whether it is there for so long."""
    hands: list[dict[int, Literal]] = field(default_factory=list)
    """For each portion: worker → whether they do it."""
    attending: list["Attending"] = field(default_factory=list)
    """Hands that are needed, at some time after the start of work that is still to be placed."""


@dataclass(frozen=True, slots=True)
class Attending:
    """One worker at one portion of a job: for each length that the job may have on its machines, where it differs."""

    worker: int
    portion: int
    begin: int
    """Minutes after the start of the job."""
    end: int
    starts: Spans
    """Starts of the job at which the worker can do it."""
    does: Literal


@dataclass(frozen=True, slots=True)
class CleanKey:
    """One kind of upkeep that one run on one machine may need."""

    machine: int
    run: int
    kind: Upkeep


@dataclass(slots=True)
class CleanVars:
    """Whether and when it is done, and by whom."""

    start: Term
    minutes: int
    done: Literal
    hands: dict[int, Literal] = field(default_factory=dict)
    """Worker → whether they do it."""


@dataclass(slots=True)
class Path:
    """Runs on one machine in the order that the solver chooses, and what is done to it between them.

    In pairs of runs, -1 stands for what was there before the first and for what comes after the last.
    """

    index: int
    machine: Machine
    condition: Condition
    runs: list[int]
    guessed: list[int]
    """Those that the guess has on the machine, in time."""
    arcs: dict[tuple[int, int], Literal] = field(default_factory=dict)
    """(i, j) → whether run j follows run i directly."""
    preceded: dict[int, list[int]] = field(default_factory=dict)
    """Run → those that may come directly before it."""
    followed: dict[int, list[int]] = field(default_factory=dict)
    """Run → those that may come directly after it."""
    fresh: dict[int, Literal] = field(default_factory=dict)
    """Run → whether the machine had its day-end clean since the run before."""
    hygiene: dict[int, Literal] = field(default_factory=dict)
    """Run → whether a hygiene clean goes before it."""
    cooled: dict[int, Term] = field(default_factory=dict)
    """Run → minutes of pre-cooling right before it."""

    def settled(self, run: int, known: Container[int], *, after: bool = False) -> bool:
        """Whether the place of a run is known, and so is what comes directly before it, or after."""
        others = self.followed[run] if after else self.preceded[run]
        return run in known and len(others) == 1 and (others[0] < 0 or others[0] in known)

    def before(self, run: int) -> list[tuple[int, Literal]]:
        """Each run that may come directly before this one (-1 for none), and whether it does."""
        return [(first, self.arcs[first, run]) for first in self.preceded[run]]


@dataclass(frozen=True, slots=True)
class Setting:
    """What a model is built for."""

    left_out: frozenset[int] = frozenset()
    """Jobs of orders that are not met."""
    optional: frozenset[int] = frozenset()
    """Orders, by position, that may be left unmet."""
    slack: bool = False
    """Quality windows may be missed, at a price."""
    preferences: bool = False
    """Count the last goal."""
    held: Mapping[int, Place] = field(default_factory=dict)
    """Jobs that stay where they are while others are improved."""


class Board:
    """A constraint model of a problem, and what to read from its solutions."""

    def __init__(self, problem: Problem, setting: Setting, guess: Schedule | None) -> None:
        """Make the variables of all jobs; rules and goals come from `constraints` and `objective`."""
        self.model = cp_model.CpModel()
        self.problem = problem
        self.setting = setting
        self.guess = guess
        self.structure: Structure = structure(problem)
        self.true: Literal = self.model.new_constant(1)
        self.false: Literal = self.model.new_constant(0)
        self.constants = self._constants()
        self.busy = self._busy()
        self.met: dict[int, Literal] = {}
        self.paths: dict[int, Path] = {}
        self.cleans: dict[CleanKey, CleanVars] = {}
        self.breaks: list[Term] = []
        self.preferences: list[Term] = []
        self._free: dict[int, Spans] = {}
        self._fits: dict[tuple[int, int, int], Spans] = {}
        self._present: dict[frozenset[int], Literal] = {}
        self.jobs: list[JobVars | None] = [None] * len(problem.jobs)
        self.bent = False
        """Whether a hint had to be changed, because the guess has a job where it cannot be."""
        self.limits = self._limits()
        for due in sorted(setting.optional):
            jobs = problem.dues[due].jobs
            self.met[due] = self.literal(bool(guess and all(guess.places[job] is not None for job in jobs)))
        for index in self.structure.order:
            if index not in setting.left_out:
                self.jobs[index] = self._job(index)
        self._movable = [entry for entry in self.placed() if entry[0] not in self.constants]

    def integer(self, low: int, high: int, hint: int | None) -> Literal:
        """A whole number with its hint, which is brought inside the bounds."""
        variable = self.model.new_int_var(low, high, "")
        if self.guess is not None:
            self.model.add_hint(variable, min(high, max(low, low if hint is None else hint)))
        return variable

    def literal(self, hint: bool | None) -> Literal:
        """A yes or no with its hint."""
        variable = self.model.new_bool_var("")
        if self.guess is not None:
            self.model.add_hint(variable, bool(hint))
        return variable

    def place(self, index: int) -> Place | None:
        """Where the guess has a job."""
        return None if self.guess is None else self.guess.places[index]

    def at(self, index: int) -> JobVars:
        """The variables of a job that is not left out.

        Raises:
            KeyError: it is left out.
        """
        jobvars = self.jobs[index]
        if jobvars is None:
            raise KeyError(index)
        return jobvars

    def placed(self) -> list[tuple[int, Job, JobVars]]:
        """All jobs but those left out."""
        return [(i, self.problem.jobs[i], v) for i, v in enumerate(self.jobs) if v is not None]

    def movable(self) -> list[tuple[int, Job, JobVars]]:
        """All jobs but those left out and those whose place is known: what a solution decides."""
        return self._movable

    def open_windows(self) -> list[Window]:
        """The windows that a solution may keep or miss."""
        windows, touched = self.structure.windows, self.structure.windows_of
        numbers = sorted({number for index, _, _ in self._movable for number in touched[index]})
        return [windows[number] for number in numbers]

    def open_dues(self) -> list[tuple[int, Due]]:
        """The orders, by their position in the problem, whose lateness a solution decides."""
        dues = enumerate(self.problem.dues)
        return [
            (number, due)
            for number, due in dues
            if not (self.setting.left_out.intersection(due.jobs) or all(job in self.constants for job in due.jobs))
        ]

    def _constants(self) -> dict[int, Place]:
        """Jobs whose place is known: already happened, or held."""
        fixed = {i: place for i, job in enumerate(self.problem.jobs) if (place := fixed_place(job)) is not None}
        return {**self.setting.held, **fixed}

    def _limits(self) -> dict[int, Limit]:
        """Around jobs that are held; none where orders may be left unmet: who follows a job is not known then."""
        out = self.setting.left_out | self.constants.keys()
        local = self.setting.held and not self.setting.optional
        free = [index for index in self.structure.order if index not in out] if local else []
        return limits(self.problem, self.constants, free, slack=self.setting.slack)

    def _busy(self) -> list[list[tuple[int, int]]]:
        """Minutes of each worker that the jobs with a known place take."""
        busy: list[list[tuple[int, int]]] = [[] for _ in self.problem.workers]
        for index, place in self.constants.items():
            job = self.problem.jobs[index]
            for portion, workers in enumerate(place.workers):
                for worker in workers:
                    busy[worker].append(portion_span(job, portion, place))
        return busy

    def free(self, worker: int) -> Spans:
        """Minutes in which a worker is there and not held by a job with a known place."""
        if worker not in self._free:
            self._free[worker] = less(self.problem.workers[worker].free, self.busy[worker])
        return self._free[worker]

    def usable(self, machine: int) -> Spans:
        """Minutes in which a machine is not stopped."""
        return less(((0, self.problem.horizon),), self.problem.machines[machine].stops)

    def _presence(self, index: int) -> Literal:
        job, served = self.problem.jobs[index], self.structure.reach[index]
        if not self.setting.optional or job.fixed is not None:
            return self.true
        if not served and job.after:
            before = self.jobs[job.after[0].after]
            return self.true if before is None else before.present
        dues, out = self.problem.dues, self.setting.left_out
        asked = frozenset(due for due in served if not out.intersection(dues[due].jobs))
        if not asked <= self.setting.optional:
            return self.true
        if asked not in self._present:
            self._present[asked] = self._any_met(asked) if asked else self.true
        return self._present[asked]

    def _any_met(self, served: frozenset[int]) -> Literal:
        met = [self.met[due] for due in sorted(served)]
        if len(met) == 1:
            return met[0]
        guess = self.guess
        hint = guess and any(all(guess.places[j] is not None for j in self.problem.dues[d].jobs) for d in served)
        present = self.literal(bool(hint))
        self.model.add_max_equality(present, met)
        return present

    def _job(self, index: int) -> JobVars:
        job = self.problem.jobs[index]
        known = self.constants.get(index)
        if known is not None:
            on = {} if known.machine is None else {known.machine: self.true}
            return JobVars(known.start, known.end, self.true, on=on)
        present = self._presence(index)
        jobvars = self._stay(index, job, present) if job.stay else self._work(index, job, present)
        jobvars.on = self._machines(index, job, present)
        if not job.stay and job.fixed is None:
            # Minutes that the machine, or what else is in it, decides: the end follows the choice.
            jobvars.modes = self._modes(index, job, jobvars)
            more = [(minutes - job.shortest) * there for (_, minutes), there in jobvars.modes.items()]
            jobvars.end = jobvars.start + job.shortest + (sum(more) if job.varies else 0)
            jobvars.attending = list(self._attending(index, job, jobvars))
        return jobvars

    def _stay(self, index: int, job: Job, present: Literal) -> JobVars:
        place, horizon = self.place(index), self.problem.horizon
        if job.fixed is not None:
            start: Term = job.fixed.start
            end = self.integer(max(self.problem.now, job.fixed.start), horizon, None if place is None else place.end)
            return JobVars(start, end, present)
        joined = any(link.most == 0 for link in job.after)
        low = 0 if joined else max(self.problem.now, job.release)
        bounds = self.limits.get(index, Limit([low, horizon], [low, horizon]))
        first, last = (self._between(bound, low) for bound in (bounds.start, bounds.end))
        start = self.integer(*first, None if place is None else place.start)
        self.bent |= place is not None and not (first[0] <= place.start <= first[1] and last[0] <= place.end <= last[1])
        return JobVars(start, self.integer(*last, None if place is None else place.end), present)

    def _between(self, bound: list[int], low: int) -> tuple[int, int]:
        """Two minutes in order, also where windows leave none."""
        first = min(max(low, bound[0]), self.problem.horizon)
        return first, max(first, bound[1])

    def _work(self, index: int, job: Job, present: Literal) -> JobVars:
        low, high = max(self.problem.now, job.release), self.problem.horizon - job.shortest
        allowed = merged(span for minutes, on in job.by_minutes for span in self._starts(index, job, minutes, on))
        if not allowed:
            self.model.add_bool_and([~present])
        domain = cp_model.Domain.from_intervals([[a, b - 1] for a, b in allowed] or [[low, max(low, high)]])
        start = self.model.new_int_var_from_domain(domain, "")
        place = self.place(index)
        if self.guess is not None:
            hint = _nearest(allowed, low if place is None else place.start)
            self.bent |= place is not None and hint != place.start
            self.model.add_hint(start, hint)
        jobvars = JobVars(start, start + job.shortest, present, allowed)
        for portion in range(len(job.portions)):
            there = place.workers[portion] if place is not None and portion < len(place.workers) else ()
            fits = [self.fits(job, portion, minutes) for minutes, _ in job.by_minutes]
            able = [w for w in job.workers if any(both(spans[w], allowed) for spans in fits)]
            jobvars.hands.append({w: self.literal(w in there) for w in able})
        return jobvars

    def _starts(self, index: int, job: Job, minutes: int, on: tuple[int, ...]) -> Spans:
        """Instants at which work of so many minutes can start on one of these, each person and machine for itself."""
        low, high = max(self.problem.now, job.release), self.problem.horizon - minutes
        high = high if job.latest is None else min(high, job.latest)
        if index in self.limits:
            low, high = max(low, self.limits[index].start[0]), min(high, self.limits[index].start[1])
        allowed: Spans = ((low, high + 1),) if low <= high else ()
        for portion in range(len(job.portions)):
            by_worker = self.fits(job, portion, minutes)
            allowed = both(allowed, common(list(by_worker.values()), low, high, at_least=job.hands))
        if on and minutes > 0:
            runs = [starts(self.usable(machine), minutes) for machine in on]
            allowed = both(allowed, common(runs, low, high))
        return allowed

    def fits(self, job: Job, portion: int, minutes: int) -> dict[int, Spans]:
        """Worker → starts of the job, if it lasts so many minutes, at which they can do its portion."""
        begin, end = portion_at(job, portion, minutes)
        return {worker: self._able(worker, end - begin, begin) for worker in job.workers}

    def _able(self, worker: int, minutes: int, before: int) -> Spans:
        key = worker, minutes, before
        if key not in self._fits:
            self._fits[key] = starts(self.free(worker), minutes, before)
        return self._fits[key]

    def _attending(self, index: int, job: Job, jobvars: JobVars) -> Iterator[Attending]:
        place = self.place(index)
        for portion, hands in enumerate(jobvars.hands):
            differs = len({portion_at(job, portion, minutes) for minutes, _ in job.by_minutes}) > 1
            for minutes, on in job.by_minutes if differs else job.by_minutes[:1]:
                begin, end = portion_at(job, portion, minutes)
                fits = self.fits(job, portion, minutes)
                so_long = place is not None and place.machine in on and place.end - place.start == minutes
                guessed = place.workers[portion] if place is not None and so_long else ()
                for worker, does in hands.items():
                    there = [jobvars.modes[machine, minutes] for machine in on] if differs else []
                    literal = self._if_there(does, there, hint=worker in guessed) if differs else does
                    yield Attending(worker, portion, begin, end, fits[worker], literal)

    def _if_there(self, does: Literal, machines: list[Literal], *, hint: bool) -> Literal:
        """Whether somebody does it and it is on one of these machines."""
        literal = self.literal(hint)
        for machine in machines:
            self.model.add_bool_or([~does, ~machine, literal])
        self.model.add_implication(literal, does)
        self.model.add_bool_or([~literal, *machines])
        return literal

    def _modes(self, index: int, job: Job, jobvars: JobVars) -> dict[tuple[int, int], Literal]:
        found: dict[tuple[int, int], Literal] = {}
        place = self.place(index)
        for machine, there in jobvars.on.items():
            usual, *longer = minutes_of(job, machine)
            found[machine, usual] = there
            for minutes in longer:
                lasted = None if place is None or place.machine != machine else place.end - place.start
                found[machine, minutes] = self.literal(lasted == minutes)
                found[machine, usual] = self.literal(lasted == usual)
                self.model.add(found[machine, minutes] + found[machine, usual] == there)
        return found

    def _machines(self, index: int, job: Job, present: Literal) -> dict[int, Literal]:
        if job.fixed is not None:
            return {} if job.fixed.machine is None else {job.fixed.machine: self.true}
        if len(job.machines) <= 1:
            return dict.fromkeys(job.machines, present)
        place = self.place(index)
        return {machine: self.literal(place is not None and place.machine == machine) for machine in job.machines}


def _nearest(allowed: Spans, instant: int) -> int:
    """The allowed instant nearest to this one."""
    if not allowed:
        return instant
    return min((min(max(instant, a), b - 1) for a, b in merged(allowed)), key=lambda found: abs(found - instant))
