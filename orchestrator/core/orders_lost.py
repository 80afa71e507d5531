"""Orders that a change of recipes would leave unmet: no recipe is made otherwise at their cost."""

from typing import Final

from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.core.models.change import AddRecipe, ReviseRecipe
from orchestrator.core.models.outcome import OrderRow
from orchestrator.core.models.questions import WhatIfAnswer

REMEDY: Final = "move or drop these orders first, or approve it once they are handed over"


def makes_otherwise(command: object) -> bool:
    """Whether a command approves how something is made."""
    return isinstance(command, ChangeKitchen) and any(isinstance(c, ReviseRecipe | AddRecipe) for c in command.changes)


def lost_orders(answer: WhatIfAnswer) -> tuple[str, ...]:
    """Orders that are met by the present plan and would not be by that of the first scenario."""
    return tuple(row.order for row in answer.table.orders if _lost(row))


def not_planned(answer: WhatIfAnswer) -> str:
    """Why there is no plan of the first scenario; empty where there is one."""
    outcome = answer.scenarios[0] if answer.scenarios else answer.base
    if outcome.plan is not None:
        return ""
    return outcome.refused.status if outcome.refused is not None else "; ".join(outcome.violations) or "no plan"


def refusal(answer: WhatIfAnswer, thing: str) -> Refusal | None:
    """Why recipes are not made otherwise; none when no order is lost by it.

    Args:
        answer: Of the planner, with the changes as its first scenario.
        thing: What would be made otherwise, by name.
    """
    why, lost = not_planned(answer), lost_orders(answer)
    if not why and not lost:
        return None
    status = f"no plan would be found with it: {why}" if why else f"{', '.join(lost)} could no longer be made"
    return Refusal(code=RefusalCode.WRONG_STATE, thing=thing, status=status, remedy=REMEDY)


def _lost(row: OrderRow) -> bool:
    if len(row.told) < 2:
        return False
    before, after = row.told[:2]
    return before is not None and before.met and after is not None and not after.met
