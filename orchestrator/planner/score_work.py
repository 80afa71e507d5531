"""What a schedule asks of machines and people: clean-downs, idle heat, hands at once, hands passed on."""

from collections import defaultdict
from collections.abc import Iterable

from orchestrator.planner.problem import Job, Place, Problem, Schedule
from orchestrator.planner.structure import portion_span

DAY_MIN = 1440
"""Days are counted from the planning start."""

# Prices of cleaning, ours.
CLEAN_PER_MIN = 4
FULL_EACH = 250
"""A full clean more: it must be verified, and runs in the order of their allergens do without."""
HEAT_PER_MIN = 1
"""A heated machine that stands hot between two uses: energy and a hot kitchen, but nobody's hands."""

# Prices of crew, ours.
PEAK_EACH = 60
"""One pair of hands more at the busiest instant of a day: as dear as half an hour of the reserve."""
RESERVE_PER_MIN = 2
"""Hands of somebody who has other things to do, while those whose work it is may be free."""
ANOTHER_HAND = 40
"""A task begun by one person and ended by another."""

Level = tuple[int, int, int]
"""Start, end and hands at work between them."""


def idle_heat(problem: Problem, schedule: Schedule) -> int:
    """Minutes that heated machines stand hot: of each day from the first use to the end of the last, less those used.

    Uses of a shared machine may lie side by side; nothing is taken off there, so that sharing its heat pays.
    """
    first: dict[tuple[int, int], int] = {}
    last: dict[tuple[int, int], int] = {}
    used = 0
    for job, place in zip(problem.jobs, schedule.places, strict=True):
        if place is None or not heats(problem, job, place.machine):
            continue
        assert place.machine is not None
        day = place.machine, place.start // DAY_MIN
        first[day] = min(first.get(day, place.start), place.start)
        last[day] = max(last.get(day, place.end), place.end)
        used += 0 if problem.machines[place.machine].shared else place.end - place.start
    return sum(last[day] - first[day] for day in first) - used


def heats(problem: Problem, job: Job, machine: int | None) -> bool:
    """Whether a job needs this machine hot."""
    return machine is not None and problem.machines[machine].hot and not job.stay and job.longest > 0


def cleaning(problem: Problem, schedule: Schedule) -> int:
    """Clean-downs and idle heat at their prices."""
    cleans = sum(CLEAN_PER_MIN * (clean.end - clean.start) + FULL_EACH * clean.full for clean in schedule.cleans)
    return cleans + HEAT_PER_MIN * idle_heat(problem, schedule)


def profile(spans: Iterable[Level]) -> list[Level]:
    """How many hands are at work, span after span; where nobody is, nothing."""
    steps: dict[int, int] = defaultdict(int)
    for start, end, hands in spans:
        steps[start] += hands
        steps[end] -= hands
    found: list[Level] = []
    level, since = 0, 0
    for instant in sorted(steps):
        if level > 0 and instant > since:
            found.append((since, instant, level))
        level, since = level + steps[instant], instant
    return found


def busy_spans(job: Job, place: Place) -> list[Level]:
    """The spans of a job that need hands, and how many."""
    spans = [(*portion_span(job, portion, place), len(who)) for portion, who in enumerate(place.workers)]
    return [(start, end, hands) for start, end, hands in spans if end > start and hands]


def daily_peaks(problem: Problem, levels: Iterable[Level]) -> list[int]:
    """Most hands at once of each day up to the horizon."""
    peaks = [0] * -(-problem.horizon // DAY_MIN)
    for start, end, hands in levels:
        for day in range(max(0, start // DAY_MIN), min(len(peaks), -(-end // DAY_MIN))):
            peaks[day] = max(peaks[day], hands)
    return peaks


def peaks(problem: Problem, schedule: Schedule) -> int:
    """Most hands at once, day by day, summed; what has already happened counts too."""
    spans = [(clean.start, clean.end, len(clean.workers)) for clean in schedule.cleans]
    for job, place in zip(problem.jobs, schedule.places, strict=True):
        spans += [] if place is None else busy_spans(job, place)
    return sum(daily_peaks(problem, profile(spans)))


def reserve(problem: Problem, schedule: Schedule) -> int:
    """Minutes of work of those who have other things to do."""
    spare = {index for index, worker in enumerate(problem.workers) if worker.reserve}
    minutes = sum((c.end - c.start) * len(spare.intersection(c.workers)) for c in schedule.cleans)
    for job, place in zip(problem.jobs, schedule.places, strict=True):
        for portion, who in enumerate(place.workers if place is not None and job.fixed is None else ()):
            assert place is not None
            start, end = portion_span(job, portion, place)
            minutes += (end - start) * len(spare.intersection(who))
    return minutes


def other_hands(problem: Problem, schedule: Schedule) -> int:
    """How often somebody else ends what one has begun."""
    return sum(
        _passed_on(place)
        for job, place in zip(problem.jobs, schedule.places, strict=True)
        if place is not None and job.fixed is None
    )


def _passed_on(place: Place) -> int:
    return sum(len(set(a) - set(b)) for a, b in zip(place.workers, place.workers[1:], strict=False))


def crew(problem: Problem, schedule: Schedule) -> int:
    """Peaks, reserve and tasks passed on at their prices."""
    return (
        PEAK_EACH * peaks(problem, schedule)
        + RESERVE_PER_MIN * reserve(problem, schedule)
        + ANOTHER_HAND * other_hands(problem, schedule)
    )
