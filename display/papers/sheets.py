"""A sheet to print: what it says, its tables, and the same rows for a spreadsheet."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

TO_WRITE: Final = "\u0000"
"""A cell left empty on purpose: somebody writes in it."""
BOX: Final = "\u0001"
"""A box to tick."""


@dataclass(frozen=True)
class Table:
    """Rows under a head."""

    head: str
    columns: Sequence[str]
    rows: Sequence[Sequence[str]]
    says: str = ""
    """Above the rows."""
    new_page: bool = False
    warns: str = ""


@dataclass(frozen=True)
class Sheet:
    """A whole sheet."""

    name: str
    """Of its file."""
    title: str
    says: Sequence[str]
    tables: Sequence[Table]
    none: str
    """What is said when there is no row at all."""
    columns: Sequence[str] = ()
    """Of its CSV, in English without spaces; none: there is no CSV."""
    rows: Sequence[Sequence[object]] = field(default_factory=tuple)
    wide: bool = False
    back: str = "/papers"
    sign: Sequence[str] = ()
    """Lines to sign on."""
