"""Changes planned as a what-if: asked of the planner in the background, kept for the plan that they were asked for."""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
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
PATIENCE_S: Final = 90.0
"""So long somebody waits for a preview, new plans meanwhile or not; then they are told that the planner cannot keep up.
Plans go first: a question may wait for several of them."""
TOLD_S: Final = 30.0
"""So long that is told to whoever looks, every screen that waits for it among them; after that a look asks anew."""
_KEPT: Final = 12
"""Previews that are kept, the newest."""


Preview = Asked[WhatIfAnswer]
"""Changes tried out; nothing of it is adopted or recorded."""


@dataclass(slots=True)
class _Tried:
    """What was asked last about some changes, and since when somebody waits for it; in seconds of the book's clock."""

    basis: Basis
    since: float
    preview: Preview
    failed_at: float | None = None


class PreviewBook:
    """Previews of the plan adopted last. Thread-safe; nothing in it waits but `preview`, and that not for long."""

    def __init__(self, gateway: Gateway, clock: Callable[[], float] = time.monotonic) -> None:
        """Ask through this gateway.

        Args:
            gateway: Knows the planner.
            clock: Real seconds, from any instant on.
        """
        self._gateway = gateway
        self._clock = clock
        self._lock = threading.Lock()
        self._tried: OrderedDict[str, _Tried] = OrderedDict()

    def preview(self, snapshot: Snapshot, scenario: Scenario, wait_s: float = 0.0) -> Preview:
        """What changes would come to, by now; the first call for them and a plan asks the planner.

        Args:
            snapshot: From whose plan it would start.
            scenario: What is tried.
            wait_s: How long to wait for it.
        """
        key = _key(scenario)
        with self._lock:
            held = self._tried.get(key)
            if held is None or self._asks_anew(held, basis(snapshot.state)):
                held = self._tried[key] = self._begun(held, snapshot, scenario)
                while len(self._tried) > _KEPT:
                    self._tried.popitem(last=False)
        held.preview.done.wait(wait_s)
        return held.preview

    def again(self, scenario: Scenario) -> None:
        """The next look at these changes asks anew, where the planner gave no answer."""
        with self._lock:
            held = self._tried.get(_key(scenario))
            if held is not None and held.preview.failed:
                del self._tried[_key(scenario)]

    def _asks_anew(self, held: _Tried, now: Basis) -> bool:
        """Whether the plan is another one, or nothing came and everybody who waited has been told so."""
        if not held.preview.failed:
            return held.basis != now
        if held.failed_at is None:
            held.failed_at = self._clock()
        return self._clock() - held.failed_at >= TOLD_S

    def _begun(self, before: _Tried | None, snapshot: Snapshot, scenario: Scenario) -> _Tried:
        waits = before is not None and not before.preview.done.is_set()
        now = self._clock()
        tried = _Tried(basis(snapshot.state), before.since if before and waits else now, Preview(snapshot.now))
        left = PATIENCE_S - (now - tried.since)
        if left > 0:
            tried.preview.begin(WhatIfAnswer, partial(self._ask, snapshot, scenario, left))
        else:
            tried.preview.give_up()
        return tried

    def _ask(self, snapshot: Snapshot, scenario: Scenario, timeout_s: float) -> Answer | Refusal:
        request = plan_request(snapshot.state, snapshot.now)
        question = WhatIfQuestion(request=request, scenarios=(scenario,), seconds=SEARCH_S)
        return self._gateway.ask(question, timeout_s)


def _key(scenario: Scenario) -> str:
    return scenario.model_dump_json(include={"changes"})


def basis(state: State) -> Basis:
    """What a preview is based on; see `ChangeKitchen.based_on`."""
    return Basis(revision=state.revision, changes=state.by_hand.changes)


def scenario_of(changes: Sequence[Change], name: str = "by hand") -> Scenario:
    """The changes as one scenario."""
    return Scenario(name=name, changes=tuple(changes))
