"""What is wrong with a kitchen's files: where, what, and what would be right."""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One thing that is wrong. Sorts by file, then line."""

    file: str
    """Path inside the kitchen's folder."""
    line: int
    """From 1; 0 when it concerns the file as a whole."""
    column: int
    what: str
    remedy: str

    def text(self) -> str:
        """``file:line:column: what — remedy``; without line and column when it concerns the whole file."""
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        return f"{place}: {self.what} — {self.remedy}"


class KitchenFaults(Exception):
    """All faults found in one reading, in the order of files and lines."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(sorted(set(faults)))
        super().__init__("\n".join(fault.text() for fault in self.faults))


def one_of(known: Iterable[str], wanted: object = None) -> str:
    """A remedy that names what is known, the nearest first if one is near."""
    names = sorted(set(known))
    near = difflib.get_close_matches(str(wanted), names, n=1) if wanted is not None else []
    if near:
        return f"did you mean {near[0]!r}?"
    if not names:
        return "there is none yet: describe one first"
    shown = ", ".join(names[:12])
    return f"known here: {shown}" + (" ..." if len(names) > 12 else "")
