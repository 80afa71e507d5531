"""Planted kitchens: a plan that is on time is made first, and the orders are read off it.

So it is known that no order need be late and no window broken, at any size. The plan is made by the small
simulator in `ledger`, which shares no code with the planner: batch after batch, each on the churn that is free
first, on a grid of five minutes. Due instants, the longest stays, and what the stores hold are then read off.
"""

import random
import statistics
from dataclasses import dataclass, replace

from orchestrator.core.models import WindowClass
from orchestrator.planner.problem import (
    CleanDown,
    Due,
    Family,
    Job,
    Machine,
    Place,
    Portion,
    Precedence,
    Problem,
    Schedule,
    Upkeep,
)
from tests.planner.ledger import CHILL, CHURN, DAY, GRID, HANDED, HARDEN, PEOPLE, TEMPER, Batch, Ledger, crew
from tests.planner.problems import ORIGIN

FAMILIES = (
    Family(frozenset({"milk", "egg"}), "basil"),
    Family(frozenset({"milk", "egg", "hazelnut"}), "hazelnut"),
    Family(frozenset(), "damson"),
)
LINE = 50
"""Batches for each line: a churn, two hobs, three people, and so much more of the rest."""
ICE_BATH, BLAST = 1200, 2400
"""Hundredths of a litre for each line."""


@dataclass(frozen=True, slots=True)
class Tightness:
    """How little room the planted plan leaves."""

    churns: float
    """Share of the churns' minutes, from first run to last while somebody is there, in runs and clean-downs."""
    hands: float
    """Share of the crew's minutes, up to the last hand-over, in attended work."""
    slack_min: float
    """Median minutes from hand-over to due."""
    spare_window_min: float
    """Median minutes that a stay could last longer than planted."""
    stores: float
    """Greatest fill of the fuller of fridge and freezer."""

    def __str__(self) -> str:
        """In one line, for tables."""
        return (
            f"churns {self.churns:.0%} in use, hands {self.hands:.0%}, stores up to {self.stores:.0%} full; "
            f"median {self.slack_min:.0f} min before due, {self.spare_window_min:.0f} min to spare in stays"
        )


@dataclass(frozen=True, slots=True)
class Planted:
    """A kitchen, and one plan for it that is on time and breaks nothing."""

    problem: Problem
    schedule: Schedule
    tightness: Tightness


def planted(batches: int, seed: int = 0, *, tightness: float = 0.7) -> Planted:
    """A kitchen of so many batches for which a plan on time is known.

    Machines and crew grow with the batches, the horizon with what the simulator needs.

    Args:
        batches: How many; each is cooked, chilled, aged, churned, hardened, kept, tempered and handed over (8 jobs).
        seed: Of everything drawn by chance.
        tightness: From 0, ample room, to 1, none: the churns' pauses, the minutes before due, what windows and stores
            have to spare. What it comes to is measured: see `Tightness`.

    Returns:
        The problem, the planted plan as a schedule, and how tight it is.

    Raises:
        ValueError: no batches, or a tightness outside 0 to 1.
    """
    if batches < 1 or not 0 <= tightness <= 1:
        raise ValueError(f"at least 1 batch and a tightness from 0 to 1, not {batches} and {tightness}")
    chance = random.Random(f"{batches} {seed} {tightness}")
    lines = max(1, round(batches / LINE))
    ledger = Ledger(lines, days=6 + batches // (3 * lines), ice_bath=ICE_BATH * lines, blast=BLAST * lines)
    made = [_next(ledger, chance, tightness) for _ in range(batches)]
    chance.shuffle(made)
    return _read_off(ledger, made, chance, 1 - tightness)


def _next(ledger: Ledger, chance: random.Random, tightness: float) -> Batch:
    """One more batch on the churn that is free first, mostly of the family that ran there last."""
    churn = min(range(len(ledger.churns)), key=lambda c: ledger.churns[c].end)
    before = ledger.churns[churn].family
    family = before if before is not None and chance.random() < 0.6 else chance.randrange(len(FAMILIES))
    kind = ""
    if before is not None and before != family:
        kind = "full" if FAMILIES[before].allergens - FAMILIES[family].allergens else "rinse"
    pause = GRID * round(chance.expovariate(1) * 6 * (1 - tightness))
    return ledger.batch(
        churn,
        family,
        kind,
        pause,
        litres=chance.randrange(250, 600, 10),
        cook=chance.randrange(30, 60, 5),
        chance=chance,
    )


def _read_off(ledger: Ledger, made: list[Batch], chance: random.Random, room: float) -> Planted:
    last = max(batch.hand_over for batch in made) + HANDED
    horizon = (last // DAY + 2) * DAY
    jobs: list[Job] = []
    dues: list[Due] = []
    places: list[Place] = []
    cleans: list[CleanDown] = []
    spare: list[int] = []
    for number, batch in enumerate(made, start=1):
        first = len(jobs)
        longer = tuple(chance.randint(30, 60 + round(720 * room)) for _ in range(2))
        spare += longer
        jobs += _jobs(f"L{number}", first, batch, ledger.lines, longer)
        places += _places(batch, ledger.lines)
        slack = chance.randint(0, round(240 * room))
        due = -(-(batch.hand_over + HANDED + slack) // 15) * 15
        dues.append(Due(f"O-{number}", (first + 7,), due, weight=chance.choice((1, 2, 3))))
        if batch.clean is not None:
            start, end, worker = batch.clean
            kind: Upkeep = "full" if batch.kind == "full" else "rinse"
            cleans.append(CleanDown(_churn(ledger.lines) + batch.churn, first + 3, kind, start, end, (worker,)))
    fridge, freezer = (int(peak * (1 + 0.25 * room)) for peak in (ledger.fridge.max(), ledger.freezer.max()))
    problem = Problem(
        ORIGIN, 0, horizon, tuple(jobs), _machines(ledger.lines, fridge, freezer),
        tuple(crew(ledger.lines, horizon // DAY)), tuple(dues),
    )  # fmt: skip
    early = [due.due - places[due.jobs[0]].end for due in dues]
    tight = Tightness(
        churns=ledger.churns_in_use(),
        hands=ledger.hands_in_use(last),
        slack_min=statistics.median(early),
        spare_window_min=statistics.median(spare),
        stores=max(ledger.fridge.max() / fridge, ledger.freezer.max() / freezer),
    )
    return Planted(problem, Schedule(tuple(places), tuple(cleans), "planted"), tight)


def _churn(lines: int) -> int:
    """The first churn's number; hobs come before, the shared machines after."""
    return 2 * lines


def _machines(lines: int, fridge: int, freezer: int) -> tuple[Machine, ...]:
    cleaners = tuple(range(PEOPLE * lines))
    churn = Machine("churn", 600, rinse=10, full=25, cleaners=cleaners)
    return (
        *(Machine(f"hob-{n + 1}") for n in range(2 * lines)),
        *(replace(churn, id=f"churn-{n + 1}") for n in range(lines)),
        Machine("ice-bath", ICE_BATH * lines, shared=True),
        Machine("fridge", fridge, shared=True),
        Machine("blast", BLAST * lines, shared=True),
        Machine("freezer", freezer, shared=True),
    )


def _jobs(lot: str, first: int, batch: Batch, lines: int, longer: tuple[int, int]) -> list[Job]:
    """The batch as the planner sees it; fridge and freezer may keep it so much ``longer`` than planted."""
    cooks = tuple(range(PEOPLE * lines))
    hobs, churns = tuple(range(2 * lines)), tuple(range(2 * lines, 3 * lines))
    ice_bath, fridge, blast, freezer = ((3 * lines + n,) for n in range(4))
    litres, attended = batch.litres, (Portion("throughout", 0),)

    def after(least: int = 0, most: int | None = None) -> tuple[Precedence, ...]:
        return (Precedence(first + len(jobs) - 1, least, most, WindowClass.SAFETY),)

    def work(name: str, minutes: int, **rest: object) -> Job:
        return Job(f"{lot}.{name}", minutes, minutes, **rest)  # type: ignore[arg-type]

    begin, both = (Portion("start", 10),), (Portion("start", 5), Portion("end", 10))
    jobs = [work("cook", batch.cook_min, machines=hobs, portions=attended, workers=cooks)]
    jobs.append(work("chill", CHILL, machines=ice_bath, load=litres, portions=begin, workers=cooks, after=after(0, 10)))
    longest = batch.churn_start - batch.chill - CHILL + longer[0]
    jobs.append(Job(f"{lot}.age", 720, longest, stay=True, machines=fridge, load=litres, after=after(0, 0)))
    family = FAMILIES[batch.family]
    jobs.append(
        work(
            "churn", CHURN, machines=churns, load=litres, portions=both, workers=cooks, after=after(0, 0), family=family
        )
    )
    jobs.append(work("harden", HARDEN, machines=blast, load=litres, after=after(0, 0)))
    kept = batch.temper - batch.churn_start - CHURN - HARDEN + longer[1]
    jobs.append(Job(f"{lot}.keep", 0, kept, stay=True, machines=freezer, load=litres, after=after(0, 0)))
    jobs.append(work("temper", TEMPER, after=after(0, 0)))
    jobs.append(work("hand-over", HANDED, portions=attended, workers=cooks, after=after(0, 120)))
    return jobs


def _places(batch: Batch, lines: int) -> list[Place]:
    hardened, temper = batch.churn_start + CHURN + HARDEN, batch.temper
    shared = 3 * lines
    chilled = batch.chill + CHILL
    return [
        Place(batch.cook, batch.cook + batch.cook_min, batch.hob, ((batch.hands[0],),)),
        Place(batch.chill, chilled, shared, ((batch.hands[1],),)),
        Place(chilled, batch.churn_start, shared + 1),
        Place(
            batch.churn_start, batch.churn_start + CHURN, _churn(lines) + batch.churn,
            ((batch.hands[2],), (batch.hands[3],)),
        ),
        Place(batch.churn_start + CHURN, hardened, shared + 2),
        Place(hardened, temper, shared + 3),
        Place(temper, temper + TEMPER),
        Place(batch.hand_over, batch.hand_over + HANDED, None, ((batch.hands[4],),)),
    ]  # fmt: skip
