"""Published project-scheduling instances: PSPLIB's `.sm` and ProGen/max's `.sch`, read by the library psplib.

Source of the formats: Kolisch and Sprecher, PSPLIB, European Journal of Operational Research 96 (1997); Schwindt,
ProGen/max (1995). In `.sch` each arc carries a time lag from start to start, which may be negative.
"""

from dataclasses import dataclass
from pathlib import Path

import psplib
from psplib.ProjectInstance import Activity

FORMATS = {".sm": "psplib", ".sch": "rcpsp_max", ".mm": "psplib"}


class FileFault(ValueError):
    """A file that cannot be read, with its name, the line where known, and what would be accepted."""


@dataclass(frozen=True, slots=True)
class Project:
    """Activities with one mode each, renewable resources, and lags from start to start: s(j) ≥ s(i) + lag."""

    name: str
    durations: tuple[int, ...]
    demands: tuple[tuple[int, ...], ...]
    """Per activity, one for each resource."""
    capacities: tuple[int, ...]
    lags: tuple[tuple[int, int, int], ...]
    """(i, j, lag)."""

    @property
    def horizon(self) -> int:
        """If there is a schedule, a shortest one ends by then: everything in turn, after its longest lag."""
        longest = list(self.durations)
        for i, _, lag in self.lags:
            longest[i] = max(longest[i], lag)
        return sum(longest)


def instances(folder: Path) -> list[Path]:
    """The instances in a folder, in the order of their names and numbers.

    Raises:
        FileFault: there is no such folder, or none in it.
    """
    if not folder.is_dir():
        raise FileFault(f"{folder}: no such folder; name one that holds .sm or .sch files")
    found = [path for path in folder.iterdir() if path.suffix.lower() in FORMATS]
    if not found:
        raise FileFault(f"{folder}: holds no .sm and no .sch files; unpack the instances into it")
    return sorted(found, key=lambda path: [int(p) if p.isdigit() else p for p in _parts(path.name)])


def _parts(name: str) -> list[str]:
    apart = "".join(c if c.isdigit() else f" {c} " for c in name)
    return [part.rjust(9, "0") if part.isdigit() else part for part in apart.split()]


def read_project(path: Path) -> Project:
    """One instance.

    Args:
        path: A `.sm` or `.sch` file.

    Returns:
        Its activities, resources and lags; `.sm` has lags of the whole duration.

    Raises:
        FileFault: it cannot be read, is damaged, or has several modes or resources that are used up.
    """
    kind = FORMATS.get(path.suffix.lower())
    if kind is None:
        raise FileFault(f"{path}: not a .sm or .sch file; rename it if its content is one of these")
    _look_through(path, kind)
    try:
        parsed = psplib.parse(path, kind)
    except (ValueError, IndexError, TypeError, StopIteration, OSError) as fault:
        raise FileFault(f"{path}: damaged ({fault or type(fault).__name__}); take a fresh copy") from fault
    activities = parsed.activities
    for number, activity in enumerate(activities, start=1):
        _accept(path, number, activity, len(activities), parsed.num_resources)
    if not all(resource.renewable for resource in parsed.resources):
        raise FileFault(f"{path}: has resources that are used up; only renewable ones are read: take a single-mode set")
    return Project(
        path.stem,
        tuple(activity.modes[0].duration for activity in activities),
        tuple(tuple(activity.modes[0].demands) for activity in activities),
        tuple(resource.capacity for resource in parsed.resources),
        tuple(
            (i, j, lag)
            for i, activity in enumerate(activities)
            for j, lag in zip(
                activity.successors,
                activity.delays or [activity.modes[0].duration] * len(activity.successors),
                strict=True,
            )
        ),
    )


def _look_through(path: Path, kind: str) -> None:
    """What the library would stumble over or read wrong without a word."""
    try:
        lines = path.read_text(encoding="utf-8", errors="strict").splitlines()
    except (OSError, UnicodeDecodeError) as fault:
        raise FileFault(f"{path}: cannot be read ({fault})") from fault
    if kind != "rcpsp_max":
        return
    numbered = [(number, line.split()) for number, line in enumerate(lines, start=1) if line.strip()]
    for number, words in numbered:
        for word in words:
            if not word.strip("[]").lstrip("-").isdigit():
                raise FileFault(f"{path}, line {number}: {word!r} is not a whole number; take a fresh copy")
    if not numbered or len(numbered[0][1]) < 2:
        raise FileFault(f"{path}, line 1: begins with the numbers of activities and resources; take a fresh copy")
    count = int(numbered[0][1][0]) + 2
    if len(numbered) < 2 * count + 2:
        raise FileFault(f"{path}, line {len(lines)}: ends early; {count} activities need {2 * count + 2} lines")
    for number, words in numbered[1 : count + 1]:
        if len(words) < 3 or len(words) != 3 + 2 * int(words[2]):
            raise FileFault(f"{path}, line {number}: a lag in brackets is needed for every successor")


def _accept(path: Path, number: int, activity: Activity, count: int, resources: int) -> None:
    if activity.num_modes != 1:
        raise FileFault(f"{path}: activity {number} has {activity.num_modes} modes; only one is read: take a .sm file")
    mode = activity.modes[0]
    if len(mode.demands) != resources or min([mode.duration, *mode.demands]) < 0:
        raise FileFault(f"{path}: activity {number} needs a duration and {resources} demands, none below 0")
    if any(not 0 <= successor < count for successor in activity.successors):
        raise FileFault(f"{path}: activity {number} is followed by one that is not there (there are {count})")
