"""Changes planned as a what-if: asked of the planner in the background, kept for the plan that they were asked for."""

import threading
from collections import OrderedDict
from collections.abc import Sequence
from functools import partial
from typing import Final

from display.asked import Asked
from orchestrator.core.errors import Refusal
from orchestrator.core.kitchen_commands import Basis
from orchestrator.core.models.change import Change
from orchestrator.core.models.questions import Answer, Scenario, WhatIfAnswer, WhatIfQuestion
from orchestrator.core.planning import plan_request
from orchestrator.core.state import State
from orchestrator.gateway.door import Gateway, Snapshot

PREVIEWS: Final = "coldwright-previews"
"""Key of the application's book among its extensions."""
SEARCH_S: Final = 8.0
"""How long the planner improves the plan of a preview."""
_TIMEOUT_S: Final = 90.0
"""Plans go first: a question may wait for several of them."""
_KEPT: Final = 12
"""Previews that are kept, the newest."""


Preview = Asked[WhatIfAnswer]
"""Changes tried out; nothing of it is adopted or recorded."""


class PreviewBook:
    """Previews of the plan adopted last. Thread-safe; nothing in it waits but `preview`, and that not for long."""

    def __init__(self, gateway: Gateway) -> None:
        """Ask through this gateway."""
        self._gateway = gateway
        self._lock = threading.Lock()
        self._asked: OrderedDict[tuple[Basis, str], Preview] = OrderedDict()

    def preview(self, snapshot: Snapshot, scenario: Scenario, wait_s: float = 0.0) -> Preview:
        """What changes would come to, by now; the first call for them and a plan asks the planner.

        Args:
            snapshot: From whose plan it would start.
            scenario: What is tried.
            wait_s: How long to wait for it.
        """
        key = basis(snapshot.state), scenario.model_dump_json(include={"changes"})
        with self._lock:
            held = self._asked.get(key)
            if held is None or (held.trouble and held.done.is_set()):
                held = self._asked[key] = Preview(snapshot.now)
                held.begin(WhatIfAnswer, partial(self._ask, snapshot, scenario))
                while len(self._asked) > _KEPT:
                    self._asked.popitem(last=False)
        held.done.wait(wait_s)
        return held

    def _ask(self, snapshot: Snapshot, scenario: Scenario) -> Answer | Refusal:
        request = plan_request(snapshot.state, snapshot.now)
        question = WhatIfQuestion(request=request, scenarios=(scenario,), seconds=SEARCH_S)
        return self._gateway.ask(question, _TIMEOUT_S)


def basis(state: State) -> Basis:
    """What a preview is based on; see `ChangeKitchen.based_on`."""
    return Basis(revision=state.revision, changes=state.by_hand.changes)


def scenario_of(changes: Sequence[Change], name: str = "by hand") -> Scenario:
    """The changes as one scenario."""
    return Scenario(name=name, changes=tuple(changes))
