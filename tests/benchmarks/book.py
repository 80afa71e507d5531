"""What has been measured, written down after each measurement: a long run can be stopped, and gone on with."""

import json
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

Figures = dict[str, Any]
"""What one measurement gave, in what JSON can hold."""
FORMAT = 1


@dataclass(frozen=True, slots=True)
class Measurement:
    """One thing to measure, which stands by itself."""

    key: str
    """Names it and everything that its figures depend on, the machine apart."""
    about_s: float
    measure: Callable[[], Figures]


@dataclass(frozen=True, slots=True)
class Part:
    """One subject: what to measure, and how its tables are made of what was measured."""

    name: str
    measurements: tuple[Measurement, ...]
    tables: Callable[[Mapping[str, Figures]], str]


class BookFault(Exception):
    """A file that holds no measurements of ours; the message says what to do."""


@dataclass(slots=True)
class Book:
    """Figures by part and key, and the sittings in which they were measured."""

    path: Path | None = None
    """Where it is kept; nowhere without."""
    sittings: list[Figures] = field(default_factory=list)
    parts: dict[str, dict[str, Figures]] = field(default_factory=dict)
    """Failures too: ``{"failed": why}``."""

    @classmethod
    def opened(cls, path: Path) -> "Book":
        """The book kept in a file; an empty one if there is none yet.

        Raises:
            BookFault: something else is in the file.
        """
        if not path.exists():
            return cls(path)
        try:
            there = json.loads(path.read_text(encoding="utf-8"))
        except ValueError as fault:
            raise BookFault(f"{path}: not JSON ({fault}); name another file") from fault
        if not isinstance(there, dict) or there.get("format") != FORMAT:
            raise BookFault(f"{path}: not figures of these benches; name another file")
        return cls(path, there["sittings"], there["parts"])

    def measured(self, part: str) -> dict[str, Figures]:
        """Figures of a part by key, failures left out."""
        return {key: found for key, found in self.parts.get(part, {}).items() if "failed" not in found}

    def failed(self) -> dict[str, str]:
        """What could not be measured, and why."""
        return {
            f"{part}: {key}": found["failed"]
            for part, all_of_it in self.parts.items()
            for key, found in all_of_it.items()
            if "failed" in found
        }

    def keep(self, part: str, key: str, figures: Figures) -> None:
        """Write figures down, on disk before anything else is measured."""
        sitting = len(self.sittings) - 1
        self.parts.setdefault(part, {})[key] = {**figures, "sitting": sitting}
        self.save()

    def save(self) -> None:
        """Replace the file in one go: a run that is killed while it writes leaves the one before."""
        if self.path is None:
            return
        whole = {"format": FORMAT, "sittings": self.sittings, "parts": self.parts}
        beside = self.path.with_name(f"{self.path.name}.new")
        beside.write_text(json.dumps(whole, indent=1, allow_nan=False), encoding="utf-8")
        os.replace(beside, self.path)
