"""Verifies what is done to machines between runs, from what happened on; none of the planner's own code."""

from dataclasses import dataclass

from orchestrator.planner.problem import CleanDown, Family, Machine, Problem, Schedule


@dataclass(frozen=True)
class Run:
    """A run on a machine, as it is in a schedule."""

    start: int
    end: int
    job: int
    family: Family
    happened: bool


def upkeep_faults(problem: Problem, schedule: Schedule) -> list[str]:
    """Every rule of upkeep that a schedule breaks, in words."""
    found: list[str] = []
    for index, machine in enumerate(problem.machines):
        runs = _runs(problem, schedule, index)
        done = [c for c in schedule.cleans if c.machine == index]
        found += [f"{machine.id}: {fault}" for fault in _as_written(problem, machine, done)]
        found += [f"{machine.id}: {fault}" for fault in _apart(runs, done)]
        if machine.cleaners:
            found += _between_runs(problem, index, runs, done)
        if machine.precool:
            found += _cold(problem, index, runs, done)
        if machine.day_end:
            found += _closed(problem, index, runs, done)
        if machine.every is not None:
            found += _hygienic(problem, index, runs, done)
    return found


def _runs(problem: Problem, schedule: Schedule, machine: int) -> list[Run]:
    found = []
    for index, (job, place) in enumerate(zip(problem.jobs, schedule.places, strict=True)):
        if place is not None and place.machine == machine and job.family is not None:
            begun = job.fixed is not None and (place.start < problem.now or place.end <= problem.now)
            found.append(Run(place.start, place.end, index, job.family, begun))
    return sorted(found, key=lambda run: (run.start, run.end))


def _facts(problem: Problem, machine: int) -> list[CleanDown]:
    return [c for c in problem.upkeep_before if c.machine == machine]


def _as_written(problem: Problem, machine: Machine, done: list[CleanDown]) -> list[str]:
    """Of the right length, by one who may, not in the past; a pre-cool not while the machine is stopped."""
    lengths = {
        "rinse": machine.rinse,
        "full": machine.full,
        "hygiene": machine.hygiene,
        "pre-cool": machine.precool,
        "day-end": machine.day_end,
    }
    found = []
    for clean in done:
        able = machine.closers if clean.kind == "day-end" else machine.cleaners
        hands = 0 if clean.kind == "pre-cool" else 1
        if clean.end - clean.start != lengths[clean.kind] or clean.start < problem.now:
            found.append(f"{clean.kind} from {clean.start} to {clean.end}")
        if len(clean.workers) != hands or not set(clean.workers) <= set(able):
            found.append(f"{clean.kind} by {clean.workers}")
        stopped = any(a <= minute < b for a, b in machine.stops for minute in range(clean.start, clean.end))
        if clean.kind == "pre-cool" and stopped:
            found.append(f"pre-cool at {clean.start}, while it is stopped")
    return found


def _apart(runs: list[Run], done: list[CleanDown]) -> list[str]:
    """One thing at a time on the machine."""
    busy = {minute for run in runs for minute in range(run.start, run.end)}
    found = []
    for clean in done:
        minutes = set(range(clean.start, clean.end))
        if busy & minutes:
            found.append(f"{clean.kind} at {clean.start} while it is in use")
        busy |= minutes
    return found


def _rank(before: Family | None, run: Family) -> str:
    if before is None or before.base == run.base:
        return ""
    paler = None not in (before.depth, run.depth) and (before.depth or 0) > (run.depth or 0)
    return "full" if paler or before.allergens - run.allergens else "rinse"


def _state(problem: Problem, machine: int, runs: list[Run]) -> Family | None:
    """What the machine is clean for at the present: a run in hand, else what is known, else the last run."""
    begun = [run for run in runs if run.happened]
    in_hand = [run.family for run in begun if run.end > problem.now]
    if begun and any(c.kind == "day-end" and c.start >= begun[-1].start for c in _facts(problem, machine)):
        return None
    if in_hand:
        return in_hand[-1]
    if machine in problem.families_before:
        return problem.families_before[machine]
    return begun[-1].family if begun else None


def _between_runs(problem: Problem, machine: int, runs: list[Run], done: list[CleanDown]) -> list[str]:
    found = []
    last, state = problem.now, _state(problem, machine, runs)
    for run in runs:
        if run.happened:
            last = max(last, run.end)
            continue
        between = [c for c in done if last <= c.start and c.end <= run.start]
        if any(c.kind == "day-end" for c in between):
            state = None
        kind = _rank(state, run.family)
        cleans = [c.kind for c in between if c.kind in ("rinse", "full", "hygiene")]
        right = {"": ([], ["hygiene"]), "rinse": (["rinse"], ["hygiene"]), "full": (["full"],)}[kind]
        if cleans not in right:
            found.append(f"{cleans} and not {kind or 'nothing'} before {problem.jobs[run.job].id}")
        last, state = run.end, run.family
    return found


def _cold(problem: Problem, machine: int, runs: list[Run], done: list[CleanDown]) -> list[str]:
    made, found = problem.machines[machine], []
    for run in runs:
        if run.happened:
            continue
        cooled = [c.end for c in (*_facts(problem, machine), *done) if c.kind == "pre-cool" and c.end <= run.start]
        before = [other.end for other in runs if other.start < run.start]
        own = [c for c in done if c.kind == "pre-cool" and c.before == run.job]
        if not any(run.start - made.keeps <= end for end in (*cooled, *before)):
            found.append(f"{problem.jobs[run.job].id} on a warm machine")
        if any(c.end != run.start for c in own):
            found.append(f"a pre-cool not right before {problem.jobs[run.job].id}")
        others = [end for end in cooled if end != run.start] + before
        if own and any(run.start - made.keeps <= end for end in others):
            found.append(f"a needless pre-cool before {problem.jobs[run.job].id}")
    return found


def _closed(problem: Problem, machine: int, runs: list[Run], done: list[CleanDown]) -> list[str]:
    made, found = problem.machines[machine], []
    cleans = [c for c in done if c.kind == "day-end"]
    firsts = [first for first, _ in made.days]
    for day, (first, close) in enumerate(made.days):
        next_day = firsts[day + 1] if day + 1 < len(firsts) else problem.horizon
        todays = [run for run in runs if first <= run.start < next_day]
        mine = [c for c in cleans if first <= c.start < next_day]
        if not todays:
            found += [f"a day-end clean on day {day}, on which nothing ran"] * bool(mine)
            continue
        last = todays[-1]
        ended = any(c.kind == "day-end" and c.start >= last.start for c in _facts(problem, machine))
        right = [c for c in mine if last.end <= c.start and c.end <= close and c.before == last.job]
        if len(right) == 1 == len(mine) or (ended and not mine):
            continue
        if not last.happened or mine or _somebody(problem, made, max(problem.now, last.end), close):
            found.append(f"{len(mine)} day-end cleans on day {day}, {len(right)} of them right")
    return found


def _somebody(problem: Problem, machine: Machine, since: int, close: int) -> bool:
    """Whether anybody who may is free for long enough, but for what has begun."""
    for worker in machine.closers:
        free = {minute for a, b in problem.workers[worker].free for minute in range(max(a, since), min(b, close))}
        for job in problem.jobs:
            if job.fixed is not None and job.fixed.end is not None and worker in job.fixed.workers:
                for portion in job.portions:
                    a, b = job.fixed.start, job.fixed.end
                    if portion.when == "start":
                        b = min(b, a + portion.minutes)
                    if portion.when == "end":
                        a = max(a, b - portion.minutes)
                    free -= set(range(a, b))
        if any(all(minute + n in free for n in range(machine.day_end)) for minute in free):
            return True
    return False


def _hygienic(problem: Problem, machine: int, runs: list[Run], done: list[CleanDown]) -> list[str]:
    made, found = problem.machines[machine], []
    thorough = [c.start for c in (*_facts(problem, machine), *done) if c.kind in ("full", "hygiene", "day-end")]
    for run in runs:
        since = max((start for start in thorough if start <= run.start), default=-1)
        used = min(other.start for other in runs if other.start >= since)
        if not run.happened and run.end - used > max(made.every or 0, run.end - run.start):
            found.append(f"{problem.jobs[run.job].id}: in use since {used} at {run.end}")
    return found
