"""What would the plan be if ...? Asked through the interface; nothing is adopted or recorded."""

from typing import Final

from pydantic import Field

from display.api.reading import NotThere, Refused
from display.previews import basis
from orchestrator.core.changes import apply
from orchestrator.core.errors import Refusal
from orchestrator.core.kitchen_commands import Basis
from orchestrator.core.models import Model
from orchestrator.core.models.questions import Scenario, WhatIfAnswer, WhatIfQuestion
from orchestrator.core.planning import plan_request
from orchestrator.gateway.door import Gateway

_BEYOND_S: Final = 25.0
"""How much longer than its own time a search is waited for: another may be under way."""


class WhatIf(Model):
    """Scenarios to be planned from the present plan and compared; nothing is adopted or recorded."""

    scenarios: tuple[Scenario, ...] = Field(min_length=1, max_length=8)
    seconds: float = Field(default=10.0, ge=0, le=60)
    """For all of them together; 0: quick plans."""


class WhatIfTold(WhatIfAnswer):
    """The same, and what it is based on: ``change_kitchen`` with it is refused once the kitchen has moved."""

    based_on: Basis


def what_if(gateway: Gateway, body: WhatIf) -> WhatIfTold:
    """Plan and compare.

    Raises:
        NotThere: no kitchen has been taken over yet.
        Refused: the planner gave no answer, or a change of the scenarios cannot be.
    """
    snapshot = gateway.snapshot()
    if snapshot.state.kitchen is None:
        raise NotThere("no kitchen has been taken over yet")
    request = plan_request(snapshot.state, snapshot.now)
    for scenario in body.scenarios:
        # Without a plan it is the planner that knows the tasks; it answers with the refusal then.
        told = apply(request, scenario.changes) if request.previous is not None else request
        if isinstance(told, Refusal):
            raise Refused(told)
    question = WhatIfQuestion(request=request, scenarios=body.scenarios, seconds=body.seconds)
    answer = gateway.ask(question, body.seconds + _BEYOND_S)
    if isinstance(answer, Refusal):
        raise Refused(answer)
    assert isinstance(answer, WhatIfAnswer)
    return WhatIfTold(**answer.model_dump(), based_on=basis(snapshot.state))
