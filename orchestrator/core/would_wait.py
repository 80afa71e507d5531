"""Whether a plan that is only tried would wait for a person, once the changes it was made for are carried out."""

from datetime import datetime

from orchestrator.core.adoption import still_holds, waits_for
from orchestrator.core.events import Recorded
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import CommandId
from orchestrator.core.kitchen_events import KitchenChanged
from orchestrator.core.models import Plan
from orchestrator.core.models.change import Change
from orchestrator.core.state import State


def would_wait(state: State, changes: tuple[Change, ...], plan: Plan, now: datetime) -> tuple[tuple[str, ...], bool]:
    """Why somebody would be asked before the plan is worked by; empty where nobody would.

    Args:
        state: As it is; nothing of it changes.
        changes: What would be carried out.
        plan: What was planned with them.
        now: The present instant.

    Returns:
        The reasons, and whether the present plan can be worked by until somebody has decided. Where it cannot, a
        quick repair takes its place meanwhile.
    """
    if state.kitchen is None or state.plan is None or not state.kitchen.crew:
        return (), True
    told = KitchenChanged(changes=changes, at=now, person=state.kitchen.crew[0].id)
    after = evolve(state, Recorded(seq=state.seq + 1, at=now, command_id=CommandId("tried"), event=told))
    return waits_for(after, plan, now), still_holds(after, now)
