"""What a step aims at for the sake of its limit."""

from math import ceil
from typing import Literal

from orchestrator.core.models.limit import Limit, LimitKind, LimitUse
from orchestrator.core.models.recipe import Step, Target


def aim(limit: Limit, use: LimitUse, unit: Literal["C", "F"]) -> Target | None:
    """The target that a step has by its limit alone.

    Args:
        limit: The limit chosen.
        use: Its row and ceiling.
        unit: The kitchen's, which picks the column.

    Returns:
        None where the limit asks for no one temperature, or has several rows and none of them is chosen.
    """
    rows = (limit.row(use.row),) if use.row is not None else limit.rows
    if limit.kind is LimitKind.HEAT and len(rows) == 1:
        held_s = rows[0].hold or 0.0
        # A target holds whole minutes; never shorter than the row.
        return Target(at_least=rows[0].asked.as_celsius(unit), hold=ceil(held_s / 60.0), ceiling=use.ceiling)
    if limit.kind in (LimitKind.COOL, LimitKind.REACH):
        return Target(at_most=min(row.asked.as_celsius(unit) for row in rows))
    return None


def with_aim(step: Step, limits: dict[str, Limit], unit: Literal["C", "F"]) -> Step:
    """The step with the target that its limit gives it, where it has none of its own."""
    if step.limit is None or step.target is not None or step.limit.id not in limits:
        return step
    target = aim(limits[step.limit.id], step.limit, unit)
    return step if target is None else step.model_copy(update={"target": target})
