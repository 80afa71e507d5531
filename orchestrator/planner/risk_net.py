"""A plan as the simulation sees it: pieces of work, what each waits for, and whom and what it needs."""

from dataclasses import dataclass, field

from orchestrator.core.models import WindowClass

NEVER = 30_000
"""A minute after every horizon (14 days are 20,160 minutes): what is due then does not happen."""
Spans = tuple[tuple[int, int], ...]


@dataclass(slots=True)
class Piece:
    """A piece of work that is done without a pause. A step whose end needs hands is two: the second is its end.

    Minutes count from the planning start.
    """

    task: int
    """Position of its task among the plan's."""
    planned: int
    """It begins no earlier, unless a window would close."""
    soonest: int = 0
    """It begins no earlier whatever closes; nor before what has happened already lets it."""
    begun: int | None = None
    """When it began in fact; none while it waits."""
    end_of: int | None = None
    """Of an end: the piece before it, which keeps its machine until this one has ended."""
    hands: int = 0
    """How many people; 0: on its own."""
    attended_min: int = 0
    """How long they are needed from its beginning, by the usual minutes: nobody begins what a shift or a break
    would interrupt, but whoever has begun sees it through."""
    throughout: bool = False
    """Needed until it ends, however long it takes."""
    skilled: tuple[int, ...] = ()
    """People who can do it, in the order in which they are asked: the planned ones first, those in reserve last."""
    machines: tuple[int, ...] = ()
    """Any of these, one task at a time, the planned one first."""
    room: int | None = None
    """A machine that several tasks share up to its capacity."""
    load: int = 0
    """In hundredths of the unit of that capacity."""
    usual_min: int = 0
    """Of the whole step."""
    cleans: bool = False
    """A clean-down is allowed while the machine is stopped."""


@dataclass(frozen=True, slots=True)
class Wait:
    """A piece begins ``least`` minutes after the end of another, or later."""

    after: int
    piece: int
    least: int = 0
    closes: int | None = None
    """So many minutes after that end it no longer waits for its planned minute."""


@dataclass(frozen=True, slots=True)
class Origin:
    """A minute from which a window counts: so long after the end of a piece, or after the planning start."""

    piece: int | None
    minutes: int


@dataclass(frozen=True, slots=True)
class OpenWindow:
    """A window not yet decided: ``piece`` begins at most ``most`` minutes after the last of its origins."""

    piece: int
    after: str
    """Id of the task or stay."""
    origins: tuple[Origin, ...]
    most: int
    window: WindowClass


@dataclass(slots=True)
class Step:
    """A task that is still open: its pieces, and how long all of it may take."""

    task: int
    spread: tuple[int, int, int]
    """Shortest, usual and longest minutes."""
    first: int
    last: int
    """Its one piece, or its end."""
    end_min: int = 0
    """Minutes of its end; 0 where the end needs no hands."""
    spent: int = 0
    """Minutes that it has taken already."""


@dataclass(slots=True)
class Net:
    """All of it; pieces in the order of their planned beginning, which decides where two could begin at once."""

    now: int
    steps: list[Step] = field(default_factory=list)
    pieces: list[Piece] = field(default_factory=list)
    waits: list[Wait] = field(default_factory=list)
    windows: list[OpenWindow] = field(default_factory=list)
    working: tuple[Spans, ...] = ()
    """Of each person: minutes in which they work, shifts less breaks."""
    capacity: tuple[int | None, ...] = ()
    """Of each machine, in hundredths; none: any load."""
    stops: tuple[Spans, ...] = ()
    """Of each machine: minutes in which it cannot be used."""
