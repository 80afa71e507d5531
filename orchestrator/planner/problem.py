"""The problem in numbers: whole minutes from the planning start, indices instead of names.

`pose` makes it from a request and its demand; `first_guess`, `solve` and `repair` look at nothing
else; `assemble` turns a schedule back into a plan. A job shop is the same problem without people,
stores and clean-downs, which is how the solver core is tested against published optima.
"""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, Literal

from orchestrator.core.models import WindowClass

Upkeep = Literal["rinse", "full", "hygiene", "pre-cool", "day-end"]
"""What is done to a machine between runs. All but a pre-cool is cleaning, attended throughout."""

LONG_AGO: Final = -(10**9)
"""Before anything that has happened: facts of former days have minutes below 0."""
PERISHABLE_MIN = 7 * 1440
"""What keeps no longer than this is fresh food."""


@dataclass(frozen=True, slots=True)
class Portion:
    """A part of a job that needs hands."""

    when: Literal["throughout", "start", "end"]
    minutes: int
    """Ignored for ``throughout``."""


@dataclass(frozen=True, slots=True)
class Precedence:
    """This job starts between ``least`` and ``most`` minutes after the end of job ``after``.

    ``most == 0`` to or from a stay joins the two without a gap whatever the class: it is never slack. No class
    lets a job start before the end of the one it follows, unless ``least`` is negative.
    """

    after: int
    least: int = 0
    """Negative: may start so many minutes before that end; understood by the constraint model alone, not needed by
    kitchens."""
    most: int | None = None
    window: WindowClass = WindowClass.QUALITY
    life: bool = False
    """The most is what is left of a shelf life, not a step that must follow soon."""


@dataclass(frozen=True, slots=True)
class Family:
    """What decides the clean-down between two runs on one machine."""

    allergens: frozenset[str]
    base: str
    """Same base back to back: none. Otherwise a rinse when neither an allergen nor the depth of colour drops, a full
    clean when one does."""
    depth: int | None = None
    """Of its colour, the deeper the higher; none: it leaves no colour behind, and takes none on."""

    def drops_to(self, run: "Family") -> bool:
        """Whether something of this run must be gone before that one: an allergen, or a deeper colour."""
        paler = self.depth is not None and run.depth is not None and run.depth < self.depth
        return paler or not self.allergens <= run.allergens


@dataclass(frozen=True, slots=True)
class Fixed:
    """Already happened, or in hand: may not be moved. A stay in hand has a fixed start and a free end."""

    start: int
    end: int | None
    machine: int | None
    workers: tuple[int, ...] = ()
    begun: bool = False
    """A fact, also where it began this very minute; what is only held in place has not begun."""


@dataclass(frozen=True, slots=True)
class Job:
    """A task to be placed. Work has ``shortest == longest`` (its usual minutes), or ``lengths`` where machines differ
    in speed, and then these are the least and most of them; a stay has a span.

    A stay that no job follows fills its place until ``longest`` is over or the horizon ends, whichever is first.
    """

    id: str
    shortest: int
    longest: int
    stay: bool = False
    machines: tuple[int, ...] = ()
    """Any one of these; empty: needs no machine."""
    lengths: tuple[int, ...] = ()
    """Minutes of work on each of ``machines``, in their order; empty: ``shortest`` on all."""
    crowded: tuple[int, ...] = ()
    """The same where more warm food is in the machine than it freezes at its usual pace (see `Machine.alone`); as long
    as without where that makes no difference. Empty: it never does."""
    load: int = 0
    """In hundredths of the capacity's unit."""
    also: tuple[tuple[int, int], ...] = ()
    """Further (machine, load), all of them needed; understood by the constraint model alone, not needed by kitchens."""
    portions: tuple[Portion, ...] = ()
    workers: tuple[int, ...] = ()
    """Who has the skill."""
    hands: int = 1
    after: tuple[Precedence, ...] = ()
    family: Family | None = None
    fixed: Fixed | None = None
    release: int = 0
    """Not before."""
    latest: int | None = None
    """Not started later, whatever else: a use-by date of what goes in, always a safety limit."""
    stay_window: WindowClass = WindowClass.QUALITY
    """Of a stay's shortest and longest."""
    keeps: int | None = None
    """Of a stay: how long its food keeps, where that goes beyond the horizon; else its longest."""

    @property
    def perishable(self) -> bool:
        """Whether a stay holds fresh food: what keeps for a week at most is better made near its use."""
        return (self.longest if self.keeps is None else self.keeps) <= PERISHABLE_MIN

    @property
    def by_minutes(self) -> tuple[tuple[int, tuple[int, ...]], ...]:
        """Each length that work may have, with the machines on which it has it; the shortest first."""
        if not self.varies:
            return ((self.shortest, self.machines),)
        pairs = {(minutes, machine) for machine in self.machines for minutes in minutes_of(self, machine)}
        return tuple((m, tuple(n for n in self.machines if (m, n) in pairs)) for m in sorted({m for m, _ in pairs}))

    @property
    def varies(self) -> bool:
        """Whether its machine, or what else is in it, decides how long it takes."""
        return bool(self.lengths or self.crowded)


def minutes_on(job: Job, machine: int | None) -> int:
    """How many minutes work takes on a machine; the usual where the machine is none of the job's own."""
    if machine is None or not job.lengths or machine not in job.machines:
        return job.shortest
    return job.lengths[job.machines.index(machine)]


def minutes_of(job: Job, machine: int) -> tuple[int, ...]:
    """How many minutes work may take on one of its machines: at its usual pace, and longer among much warm food."""
    usual = minutes_on(job, machine)
    longer = job.crowded[job.machines.index(machine)] if job.crowded else usual
    return (usual,) if longer == usual else (usual, longer)


@dataclass(frozen=True, slots=True)
class Machine:
    """One machine: one job at a time, or up to ``capacity`` hundredths at once if shared."""

    id: str
    capacity: int | None = None
    shared: bool = False
    rinse: int = 0
    full: int = 0
    cleaners: tuple[int, ...] = ()
    """Workers who may clean it; clean-downs are attended throughout. Empty: no clean-downs."""
    stops: tuple[tuple[int, int], ...] = ()
    """Minutes in which it cannot be used; cleaning is allowed then, pre-cooling is not."""
    hot: bool = False
    """It stays heated from the first use of a day to the last."""
    precool: int = 0
    """Minutes of a pre-cool right before a run, unless it ran or was pre-cooled no longer than ``keeps`` ago."""
    keeps: int = 0
    """At least ``precool``."""
    day_end: int = 0
    """Minutes of the clean after the last run of each day, which leaves it clean for anything; 0: none."""
    closers: tuple[int, ...] = ()
    """Workers who may do it."""
    days: tuple[tuple[int, int], ...] = ()
    """Of each day: its first minute, and by when its day-end clean must be over. A run belongs to the day on which it
    starts; the first day begins at minute 0 or before."""
    alone: int | None = None
    """Work in it takes its usual minutes while no more than so many hundredths of load are being worked on at once, and
    its ``crowded`` minutes otherwise; what stays there is cold already and does not count. None: no such limit."""
    hygiene: int = 0
    """Minutes of a hygiene clean."""
    taken: tuple[tuple[int, int, int], ...] = ()
    """Start, end and load of what is no job and stands there all the same: it has its room before all else."""
    every: int | None = None
    """From the first run after a hygiene clean, a full clean or a day-end clean, it may be in use for so long."""

    @property
    def kept(self) -> bool:
        """Whether anything is to be done to it between runs, so that their order matters."""
        return bool(self.cleaners or self.precool or self.day_end)

    def takes(self, kind: Upkeep) -> int:
        """Minutes of one kind of upkeep."""
        minutes: dict[Upkeep, int] = {"rinse": self.rinse, "full": self.full, "hygiene": self.hygiene}
        return minutes.get(kind, self.precool if kind == "pre-cool" else self.day_end)

    def able(self, kind: Upkeep) -> tuple[int, ...]:
        """Workers who may do one kind of upkeep; a pre-cool needs nobody."""
        return {"day-end": self.closers, "pre-cool": ()}.get(kind, self.cleaners)


@dataclass(frozen=True, slots=True)
class Worker:
    """Somebody of the crew, and the minutes in which they work (shifts less breaks)."""

    id: str
    free: tuple[tuple[int, int], ...]
    reserve: bool = False
    """Somebody who has other things to do: asked for where nobody else is free."""


@dataclass(frozen=True, slots=True)
class Due:
    """An order: all its last jobs must have ended by then."""

    order: str
    jobs: tuple[int, ...]
    due: int
    earliest: int = 0
    weight: int = 1


@dataclass(frozen=True, slots=True)
class Place:
    """Where one job ended up."""

    start: int
    end: int
    machine: int | None = None
    workers: tuple[tuple[int, ...], ...] = ()
    """One tuple of workers per portion."""


@dataclass(frozen=True, slots=True)
class CleanDown:
    """Upkeep of a machine, just before or some time before the run of ``before``."""

    machine: int
    before: int
    """Of a day-end clean: the run that it follows."""
    kind: Upkeep
    start: int
    end: int
    workers: tuple[int, ...]

    @property
    def full(self) -> bool:
        """Whether it is a full clean-down."""
        return self.kind == "full"

    @property
    def thorough(self) -> bool:
        """Whether the time in use counts anew after it."""
        return self.kind in ("full", "hygiene", "day-end")


@dataclass(frozen=True, slots=True)
class Problem:
    """All of it."""

    origin: datetime
    """Minute 0: aware, UTC."""
    now: int
    """Nothing that has not begun may start before this minute."""
    horizon: int
    """Last minute."""
    jobs: tuple[Job, ...]
    machines: tuple[Machine, ...] = ()
    workers: tuple[Worker, ...] = ()
    dues: tuple[Due, ...] = ()
    previous: tuple[Place | None, ...] = ()
    """Where the adopted plan had each job; empty at first."""
    cleans_before: tuple["CleanDown", ...] = ()
    """Upkeep of the adopted plan that is still to be done, by the run that it prepares or follows."""
    families_before: dict[int, Family] = field(default_factory=dict)
    """What each machine with clean-downs is clean for at ``now``: its last run that has ended, or the run that a
    clean-down already done has prepared. A fixed run still in hand comes after it. Left out: the last fixed run
    that has ended counts, and with none of those the first run needs no clean-down."""
    upkeep_before: tuple["CleanDown", ...] = ()
    """What has been done to machines, or is in hand, at its actual times; ``before`` says nothing here."""


@dataclass(frozen=True, slots=True)
class Schedule:
    """A place for every job; ``places[i] is None`` for jobs left out because their order cannot be met."""

    places: tuple[Place | None, ...]
    cleans: tuple[CleanDown, ...] = ()
    method: str = ""
    terms: tuple[tuple[str, int, float], ...] = ()
    """(name, stage, value) of each goal reached."""
    bound: float | None = None
    proven: bool = False
