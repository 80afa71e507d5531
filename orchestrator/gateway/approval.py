"""The guard at the door: no recipe is made otherwise before the planner has said that no order is lost by it."""

from typing import Final

from orchestrator.core.decide import decide
from orchestrator.core.errors import Refusal
from orchestrator.core.kitchen_commands import Basis, ChangeKitchen
from orchestrator.core.models.change import AddRecipe, ReviseRecipe
from orchestrator.core.models.questions import Answer, Scenario, WhatIfAnswer, WhatIfQuestion
from orchestrator.core.orders_lost import makes_otherwise, refusal
from orchestrator.core.planning import plan_request
from orchestrator.gateway.door import Snapshot

EFFORTS_S: Final = (0.0, 8.0)
"""Seconds of search: a quick plan first, and only where it loses an order one that is looked for longer."""
LONGEST_S: Final = 60.0
"""How long the planner's answers are waited for: plans go before questions."""


def to_be_asked(snapshot: Snapshot, command: object) -> ChangeKitchen | Refusal | None:
    """The command, if the planner must be asked about it before it is handed in.

    It need not where there is no plan yet that could lose an order, nor where the kitchen has carried it out before.
    Where the kitchen refuses it as it stands in the picture, that is the answer: whoever writes may be further by now,
    and would take unasked what is handed in.
    """
    if not isinstance(command, ChangeKitchen) or not makes_otherwise(command) or snapshot.state.plan is None:
        return None
    if command.command_id in snapshot.state.seen:
        return None
    told = decide(snapshot.state, command, snapshot.now, snapshot.facts)
    return told if isinstance(told, Refusal) else command


def question(snapshot: Snapshot, command: ChangeKitchen, seconds: float) -> WhatIfQuestion:
    """What the planner is asked."""
    scenario = Scenario(name="approval", changes=command.changes)
    return WhatIfQuestion(request=plan_request(snapshot.state, snapshot.now), scenarios=(scenario,), seconds=seconds)


def verdict(command: ChangeKitchen, answer: Answer | Refusal) -> Refusal | None:
    """Why it is not handed in; none when it may be."""
    if isinstance(answer, Refusal):
        return answer
    assert isinstance(answer, WhatIfAnswer)
    named = (c.recipe.name for c in command.changes if isinstance(c, ReviseRecipe | AddRecipe))
    return refusal(answer, ", ".join(named))


def based(snapshot: Snapshot, command: ChangeKitchen) -> ChangeKitchen:
    """The command bound to what was asked about: refused as stale where the kitchen has moved meanwhile."""
    if command.based_on is not None:
        return command
    state = snapshot.state
    return command.model_copy(update={"based_on": Basis(revision=state.revision, changes=state.by_hand.changes)})
