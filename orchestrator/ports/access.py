"""Who may do what at the screens, and where screens, sessions, codes and refused acts are kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Final, Literal, Protocol

from orchestrator.core.ids import CrewId
from orchestrator.ports.event_log import Keeping

REASONS: Final = (
    "role",
    "scope",
    "wrong code",
    "wrong passphrase",
    "bad token",
    "rate limit",
    "bad form token",
    "foreign site",
)
"""Why an act can be refused at the door."""


LEAST_PASSPHRASE: Final = 12
"""Characters: what four short words have."""


class Role(StrEnum):
    """What a caller may do; the table of who may what is `display/access/rules.py`."""

    VIEWER = "viewer"
    """Looks, and does nothing."""
    STATION = "station"
    """Cooks: the acts of the day, at a screen in the kitchen."""
    MANAGER = "manager"
    """Everything."""


class Scope(StrEnum):
    """What a program with a token may do. None includes another: a shop that brings orders need not see the kitchen."""

    READ = "read"
    """All that can be read, as JSON, CSV, calendar or figures."""
    ORDERS = "orders"
    """Brings orders, hourly demand and par levels."""
    ACT = "act"
    """Hands in what a cook may do at a screen."""
    MANAGE = "manage"
    """Hands in everything."""


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks for something."""

    kind: Literal["open", "screen", "manager", "token"]
    """``open``: the service has no passphrase and listens on its own machine only."""
    name: str
    """For people and for the list of refused acts; never a secret."""
    role: Role
    scopes: frozenset[Scope] = field(default_factory=frozenset)
    """Of a token: what it may do; its role counts for nothing."""
    id: str = ""
    """Number of the screen or of the token."""


@dataclass(frozen=True, slots=True)
class Screen:
    """A paired screen."""

    id: int
    name: str
    place: str
    role: Role
    paired_at: datetime
    seen_at: datetime | None = None
    revoked_at: datetime | None = None
    spare: bool = False
    """Paired by a code that was approved beforehand."""


@dataclass(frozen=True, slots=True)
class Spare:
    """A code approved beforehand, good for one screen."""

    id: int
    name: str
    place: str
    role: Role
    made_at: datetime
    used_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Wish:
    """What a screen is to be called and may do."""

    name: str
    place: str
    role: Role


@dataclass(frozen=True, slots=True)
class Token:
    """What a program brings along instead of a screen's cookie."""

    id: int
    name: str
    scopes: frozenset[Scope]
    made_at: datetime
    seen_at: datetime | None = None
    revoked_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """A screen's question to be paired."""

    code: str
    """What the screen shows; six characters or more, without those that look alike."""
    asker: str
    """A long secret in a cookie of that screen: whoever reads the code off it cannot take its place."""


@dataclass(frozen=True, slots=True)
class RefusedAct:
    """One line of the list of refused acts. It holds no secret."""

    at: datetime
    source: str
    """Network address."""
    who: str
    """Screen, manager or token; empty for somebody unknown."""
    what: str
    """Method and path, or the act."""
    reason: str
    """One of `REASONS`."""
    count: int = 1
    """How often the same came within a short while."""
    id: int = 0


class AccessStore(Protocol):
    """Keeps secrets as hashes only. Thread-safe; every method may block, so call none in the loop.

    All methods raise `LogUnavailable` when the store cannot be read or written.
    """

    def page_key(self) -> bytes:
        """What signs messages between two pages, the same for all who show this kitchen."""

    def has_passphrase(self) -> bool:
        """Whether anybody must be let in at all."""

    def set_passphrase(self, passphrase: str, now: datetime) -> None:
        """Set the manager's passphrase; all sessions end."""

    def is_passphrase(self, typed: str) -> bool:
        """Whether it is right. Slow on purpose, about a tenth of a second."""

    def begin_session(self, source: str, now: datetime, until: datetime) -> str:
        """Sign the manager in. Returns: the session's secret."""

    def session_until(self, secret: str) -> datetime | None:
        """When a session ends; none if there is none of that secret."""

    def end_session(self, secret: str) -> None:
        """Sign out."""

    def ask_to_pair(self, now: datetime, until: datetime) -> Asked:
        """A code for a screen that nobody knows yet."""

    def approve(self, code: str, wish: Wish, now: datetime) -> bool:
        """Let the screen in that shows this code. Returns: whether there is one, still waiting."""

    def is_waiting(self, asker: str, now: datetime) -> bool:
        """Whether a screen's question still stands, answered or not."""

    def take_pairing(self, asker: str, now: datetime) -> str | None:
        """Once, after it was approved. Returns: the screen's secret; none if it was not approved in time."""

    def make_spares(self, wishes: Sequence[Wish], now: datetime) -> Sequence[tuple[Spare, str]]:
        """Codes approved beforehand; each is told here and nowhere else."""

    def spares(self) -> Sequence[Spare]:
        """All that were made, newest first."""

    def drop_spare(self, spare: int) -> None:
        """An unused code is good for nothing any more."""

    def use_spare(self, code: str, now: datetime) -> str | None:
        """Pair by a code approved beforehand. Returns: the screen's secret; none if it is none, or was used."""

    def screens(self) -> Sequence[Screen]:
        """All that were ever paired, newest first."""

    def screen(self, secret: str) -> Screen | None:
        """The screen of a secret, revoked or not."""

    def seen(self, screen: int, now: datetime) -> None:
        """It was there just now."""

    def revoke(self, screen: int, now: datetime) -> None:
        """It may do nothing any more."""

    def codes(self) -> Mapping[CrewId, datetime]:
        """Who has a personal code, and since when."""

    def set_code(self, person: CrewId, code: str | None, now: datetime) -> None:
        """Give somebody a personal code, or take it away."""

    def is_code(self, person: CrewId, typed: str) -> bool:
        """Whether it is right. Slow on purpose."""

    def make_token(self, name: str, scopes: frozenset[Scope], now: datetime) -> str:
        """A token for a program. Returns: its secret, told here and nowhere else."""

    def tokens(self) -> Sequence[Token]:
        """All that were ever made, newest first."""

    def token(self, secret: str) -> Token | None:
        """The token of a secret, revoked or not."""

    def token_seen(self, token: int, now: datetime) -> None:
        """It was used just now."""

    def revoke_token(self, token: int, now: datetime) -> None:
        """It may do nothing any more."""

    def note(self, refused: RefusedAct) -> int:
        """Keep a refused act. Returns: its number."""

    def noted_again(self, number: int, count: int, at: datetime) -> None:
        """The same came so often by now, last at that instant."""

    def refused(self, limit: int = 200) -> Sequence[RefusedAct]:
        """The latest, newest first."""

    def tidy(self, now: datetime, keeping: Keeping) -> int:
        """Forget what is over: ended sessions, questions to be paired, and refused acts that were kept long enough.

        Returns:
            How many.
        """

    def close(self) -> None:
        """Release it."""
