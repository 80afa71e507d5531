"""Small planning problems to solve by hand, and kitchens of any size made from a seed."""

import random
from collections.abc import Sequence
from datetime import UTC, datetime

from orchestrator.core.models import WindowClass
from orchestrator.planner.problem import Due, Family, Job, Machine, Portion, Precedence, Problem, Worker

ORIGIN = datetime(2026, 11, 25, 6, tzinfo=UTC)
DAY = 1440
ALWAYS = ((0, 100_000),)
THROUGHOUT = (Portion("throughout", 0),)


def posed(jobs: Sequence[Job], *, horizon: int = 1000, now: int = 0, **rest: object) -> Problem:
    """A problem of these jobs."""
    return Problem(ORIGIN, now, horizon, tuple(jobs), **rest)  # type: ignore[arg-type]


def work(name: str, minutes: int, **rest: object) -> Job:
    """A job of its own length."""
    return Job(name, minutes, minutes, **rest)  # type: ignore[arg-type]


def stay(name: str, after: int, shortest: int, longest: int, **rest: object) -> Job:
    """A stay that begins as the job before it ends."""
    return Job(name, shortest, longest, stay=True, after=(Precedence(after, most=0),), **rest)  # type: ignore[arg-type]


def joined(after: int) -> tuple[Precedence, ...]:
    """Starts as the stay before it ends."""
    return (Precedence(after, most=0),)


def crew() -> tuple[Worker, ...]:
    """Early cook, pastry cook, late cook and counter hand over six days from 06:00, each with a break."""
    shifts = ((0, 240, 270, 480), (60, 300, 330, 540), (360, 600, 630, 900), (120, 360, 390, 600))
    names = ("early-cook", "pastry-cook", "late-cook", "counter-hand")
    return tuple(
        Worker(
            name, tuple(s for day in range(6) for s in ((day * DAY + a, day * DAY + b), (day * DAY + c, day * DAY + d)))
        )
        for name, (a, b, c, d) in zip(names, shifts, strict=True)
    )


MACHINES = (
    Machine("hob-1"),
    Machine("hob-2"),
    Machine("ice-bath", 1200, shared=True),
    Machine("fridge", 6000, shared=True),
    Machine("churn", 600, rinse=10, full=25, cleaners=(0, 1, 2)),
    Machine("blast", 1600, shared=True),
    Machine("freezer", 9000, shared=True),
)


def kitchen(batches: int, seed: int = 0) -> Problem:
    """A five-day kitchen: each batch is cooked, chilled, aged, churned, hardened, kept and handed over (8 jobs)."""
    chance = random.Random(seed)
    jobs: list[Job] = []
    dues: list[Due] = []
    families = (Family(frozenset({"milk", "egg"}), "basil"), Family(frozenset({"milk", "egg", "hazelnut"}), "hazelnut"),
                Family(frozenset(), "damson"))  # fmt: skip
    for batch in range(batches):
        family = chance.choice(families)
        litres = chance.randrange(250, 600, 10)
        first = len(jobs)
        jobs += _batch(f"L{batch + 1}", first, litres, chance.randrange(30, 60, 5), family)
        day = chance.choice((3, 4))
        hour = chance.choice((300, 420, 540))
        dues.append(Due(f"O-{batch + 1}", (first + 7,), day * DAY + hour, weight=chance.choice((1, 2, 3))))
    return Problem(ORIGIN, 0, 5 * DAY, tuple(jobs), MACHINES, crew(), tuple(dues))


def _batch(lot: str, first: int, litres: int, cook: int, family: Family) -> list[Job]:
    start, everyone = (Portion("start", 10),), (0, 1, 2)
    safety = WindowClass.SAFETY

    def after(least: int = 0, most: int | None = None) -> tuple[Precedence, ...]:
        return (Precedence(first + len(jobs) - 1, least, most, safety),)

    jobs = [work(f"{lot}.cook", cook, machines=(0, 1), portions=THROUGHOUT, workers=everyone)]
    jobs.append(
        work(f"{lot}.chill", 90, machines=(2,), load=litres, portions=start, workers=everyone, after=after(0, 10))
    )
    jobs.append(stay(f"{lot}.age", first + 1, 720, 4320, machines=(3,), load=litres, stay_window=WindowClass.QUALITY))
    churn = work(f"{lot}.churn", 40, machines=(4,), load=litres, portions=(Portion("start", 5), Portion("end", 10)),
                 workers=everyone, after=after(0, 0), family=family)  # fmt: skip
    jobs.append(churn)
    jobs.append(work(f"{lot}.harden", 240, machines=(5,), load=litres, after=after(0, 0)))
    jobs.append(stay(f"{lot}.keep.O", first + 4, 0, 5760, machines=(6,), load=litres))
    jobs.append(work(f"O-{lot}.temper", 30, after=after(0, 0)))
    jobs.append(work(f"O-{lot}.hand-over", 10, portions=THROUGHOUT, workers=(0, 1, 2, 3), after=after(0, 120)))
    return jobs
