"""How the service itself does: checks with their reasons, and the facts behind them, for screens and programs."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

Value = str | int | float | datetime


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that was looked at."""

    name: str
    """``pen``, ``log``, ``readings``, ``loop``, ``broker``, ``planner``, ``clock``, ``disk``, ``backup``, ``proof``,
    ``files``."""
    ok: bool
    needed: bool
    """Whether the service counts as ready only while this holds; else somebody should merely look."""
    reason: str
    """Names the sentence that says how it is; screens have its words in every language."""
    values: Mapping[str, Value] = field(default_factory=dict)
    """What goes into the sentence."""


@dataclass(frozen=True, slots=True)
class ClockFacts:
    """The computer's clock against what else tells time."""

    zone: str
    set_by_s: float
    """By how much it was set since the start: the wall clock against the monotonic one, in seconds."""
    set_at: datetime | None
    server_off_s: float | None
    """How far it is ahead of the database server's; none without one."""


@dataclass(frozen=True, slots=True)
class DiskFacts:
    """The disk with the record."""

    place: str
    free_bytes: int
    total_bytes: int


@dataclass(frozen=True, slots=True)
class BackupFacts:
    """Backups that are made by themselves."""

    place: str
    made_at: datetime | None
    """Of the last that was proven good; none where there is none."""
    kept: int
    next_at: datetime | None
    head: str
    """Of the chain in it: so far the record is known to be whole."""
    failed: str
    """Why the last try came to nothing; empty when it did not."""


@dataclass(frozen=True, slots=True)
class ProofFacts:
    """What following the chain of the record found."""

    at: datetime
    seq: int = 0
    """So far it is whole."""
    broken_at: int = 0
    """The first record that does not fit; 0 where all do."""
    how: str = ""
    """``missing`` or ``changed``."""
    unreadable: str = ""
    """Why it could not be followed; empty when it was."""


@dataclass(frozen=True, slots=True)
class PlannerFacts:
    """One of the planner's processes."""

    name: str
    alive: bool
    starts: int


@dataclass(frozen=True, slots=True)
class Vitals:
    """All of it at one instant."""

    checks: tuple[Check, ...] = ()
    version: str = ""
    started_at: datetime | None = None
    place: str = ""
    """Where the record is: a folder, or an address without its password."""
    holder: str = ""
    """Who has the pen."""
    turns: int = 0
    """How many services have had the pen of this record, one after the other."""
    seq: int = 0
    head: str = ""
    broker: str = ""
    """Its address; empty without one."""
    heard_at: datetime | None = None
    """When the broker last brought readings."""
    lag_s: float = 0.0
    """The longest that the loop was late within the last minute."""
    clock: ClockFacts | None = None
    disk: DiskFacts | None = None
    backup: BackupFacts | None = None
    planners: tuple[PlannerFacts, ...] = ()
    proof: ProofFacts | None = None
    """None before the record was first followed since the start."""
    edited: tuple[str, ...] = ()
    """Parts of the kitchen's files that were edited since they were taken over, and are not in use."""

    @property
    def ready(self) -> bool:
        """Whether everything holds that the service needs."""
        return all(check.ok for check in self.checks if check.needed)

    @property
    def amiss(self) -> tuple[Check, ...]:
        """What somebody should look at."""
        return tuple(check for check in self.checks if not check.ok)
