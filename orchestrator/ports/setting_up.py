"""A kitchen's folder before it is taken over: what is in it, and what is wrong with it."""

from dataclasses import dataclass
from typing import Protocol

from orchestrator.core.models import Kitchen


@dataclass(frozen=True, slots=True)
class Part:
    """One of the things that a first plan needs."""

    name: str
    """``stations``, ``equipment``, ``crew``, ``recipes`` or ``orders``."""
    file: str
    """Where it is described, inside the folder."""
    count: int


@dataclass(frozen=True, slots=True)
class FileFault:
    """One thing that is wrong, as `coldwright check` tells it."""

    file: str
    line: int
    """From 1; 0 when it concerns the file as a whole."""
    what: str
    remedy: str


@dataclass(frozen=True, slots=True)
class FolderLook:
    """What was found in the folder just now."""

    parts: tuple[Part, ...]
    faults: tuple[FileFault, ...]
    kitchen: Kitchen | None
    """As it would be taken over; none while there are faults."""


class KitchenFolder(Protocol):
    """Thread-safe; nothing in the folder is ever changed."""

    @property
    def path(self) -> str:
        """Where it lies, for people."""

    def look(self) -> FolderLook:
        """Read it again, if a file in it has changed since."""
