"""People to be called as notify.yaml writes them; addresses, which hold passwords, are refused unseen."""

import re
from collections.abc import Iterator
from typing import Annotated, Any, Final

from pydantic import BeforeValidator, Field

from orchestrator.core.ids import CrewId
from orchestrator.core.models import Model
from orchestrator.core.models.calls import (
    CLOCK_PATTERN,
    SECRET_PATTERN,
    CallChannel,
    Callee,
    QuietHours,
)
from orchestrator.kitchen.documents import Path_

_NAME: Final = (
    "write the name of the environment variable, or of the line in the secrets file, that holds it, in capitals"
)
ADDRESS_WHAT: Final = "an address stands in the file, and everybody who reads the file can read it"
ADDRESS_REMEDY: Final = f"take it out, change its password or token, and {_NAME}, like CALL_OWNER_PHONE"


def _name_of_secret(value: Any) -> Any:
    """Refuses without repeating what was written: it may be the secret itself."""
    if not isinstance(value, str) or len(value) > 100 or not re.fullmatch(SECRET_PATTERN, value):
        raise ValueError(f"the secret is not named: {_NAME}, like CALL_OWNER_PHONE")
    return value


def addresses(data: Any, path: Path_ = ()) -> Iterator[Path_]:
    """Where something like an address stands in a file's data."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield from addresses(value, (*path, key))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from addresses(value, (*path, index))
    elif isinstance(data, str) and "://" in data:
        yield path


class QuietInFile(Model):
    """From one time of the kitchen's clock to another, each day; ``to`` not later than ``from`` is the next day."""

    from_: str = Field(alias="from", pattern=CLOCK_PATTERN)
    to: str = Field(pattern=CLOCK_PATTERN)


class ChannelInFile(Model):
    """One way to reach somebody."""

    name: str = Field(min_length=1, max_length=40)
    """As screens show it: ``Phone``, ``Mail``."""
    secret: Annotated[str, BeforeValidator(_name_of_secret), Field(pattern=SECRET_PATTERN)]
    """Name of the environment variable, or of the line in the secrets file, that holds its address."""


class CalleeInFile(Callee):
    """Somebody who is called: one of the crew, or somebody else in words."""

    crew: CrewId | None = None
    """One of the crew ..."""
    role: str = Field(default="", max_length=60)
    """... or somebody who is not, in words, such as ``Owner``."""
    channels: tuple[ChannelInFile, ...]  # type: ignore[assignment]
    """All of them are tried; one that is reached is enough."""
    quiet: tuple[QuietInFile, ...] = ()  # type: ignore[assignment]
    """When nothing but critical alarms may reach them."""

    def to_core(self) -> Callee:
        """The plain person."""
        return Callee(
            crew=self.crew,
            role=self.role,
            channels=tuple(CallChannel(name=one.name, secret=one.secret) for one in self.channels),
            quiet=tuple(QuietHours(start=one.from_, end=one.to) for one in self.quiet),
        )
