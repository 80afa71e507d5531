"""The clock of a freezer's defrosts, for ``coldwright judge``: as the kitchen's files have it, or by hand."""

from dataclasses import dataclass
from pathlib import Path

import click
from pydantic import ValidationError

from orchestrator.core.models.equipment import DefrostClock
from orchestrator.thermal.defrost import Clock


@dataclass(frozen=True, slots=True)
class Freezer:
    """What was told of it."""

    equipment: str | None = None
    defrosts: str | None = None


def clock_of(freezer: Freezer, kitchen: Path | None, reads: str) -> Clock | None:
    """What is known of its defrosts; none where nothing was told, and they are learned from three rises.

    Raises:
        click.UsageError: It makes no sense.
        KitchenFaults: The kitchen's files have faults.
    """
    if freezer.equipment is None and freezer.defrosts is None:
        return None
    if reads != "air":
        raise click.UsageError("defrosts are told for a curve of a freezer's air: say --reads air, or leave them out")
    if freezer.equipment is not None and freezer.defrosts is not None:
        raise click.UsageError("--equipment and --defrosts both tell the clock: leave one out")
    told = _by_hand(freezer.defrosts) if freezer.defrosts is not None else _of(str(freezer.equipment), kitchen)
    return Clock(told.every * 60.0, told.longest * 60.0)


def _by_hand(text: str) -> DefrostClock:
    every, slash, longest = (part.strip() for part in text.partition("/"))
    try:
        if not slash:
            raise ValueError("no slash")
        return DefrostClock.model_validate({"every": every, "longest": longest})
    except (ValidationError, ValueError) as error:
        raise click.UsageError(
            f"--defrosts {text!r}: write how often and how long at most, like '6 h/40 min' "
            "(every 2 to 48 hours, 10 to 90 minutes)"
        ) from error


def _of(equipment: str, kitchen: Path | None) -> DefrostClock:
    from orchestrator.kitchen import read_kitchen
    from orchestrator.kitchen.faults import one_of

    if kitchen is None:
        raise click.UsageError("--equipment names a freezer of a kitchen: say which with --kitchen")
    known = read_kitchen(kitchen).equipment
    found = next((machine for machine in known if machine.id == equipment), None)
    if found is None:
        raise click.UsageError(f"there is no equipment {equipment!r}: {one_of([str(m.id) for m in known], equipment)}")
    if found.defrosts is None:
        raise click.UsageError(
            f"no clock of defrosts is entered for {equipment!r}: add defrosts in equipment.yaml, or say --defrosts"
        )
    return found.defrosts
