"""What helps orders in trouble: asked of the planner once for each adopted plan, in the background, and kept."""

import threading
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Final

from display.asked import Asked
from orchestrator.core.errors import Refusal
from orchestrator.core.models import Plan, WindowClass
from orchestrator.core.models.questions import Answer, HelpProgress, RemediesAnswer, RemediesQuestion
from orchestrator.core.planning import plan_request
from orchestrator.gateway.door import Gateway, Snapshot

REMEDIES: Final = "coldwright-remedies"
"""Key of the application's book among its extensions."""
SEARCH_S: Final = 40.0
"""How long the planner looks for conflicts and remedies."""
_TIMEOUT_S: Final = 120.0
"""Plans go first: a question may wait for several of them."""


@dataclass(frozen=True, slots=True)
class HelpSoFar:
    """How far the search is, for whoever waits."""

    seconds: int
    """Since the planner began."""
    most: int
    """After so many seconds it ends in any case."""
    at: HelpProgress


class RemedyBook:
    """The remedies of the plan adopted last. Thread-safe; nothing in it waits but `answer`, and that not for long."""

    def __init__(self, gateway: Gateway) -> None:
        """Ask through this gateway."""
        self._gateway = gateway
        self._lock = threading.Lock()
        self._asked: Asked[RemediesAnswer] | None = None
        self._revision = 0

    def answer(self, snapshot: Snapshot, wait_s: float = 0.0) -> tuple[RemediesAnswer | None, str]:
        """What helps by now, for the plan of a picture; the first call for a plan asks the planner.

        Args:
            snapshot: Whose plan it is about.
            wait_s: How long to wait for it.

        Returns:
            The answer, empty for a plan without trouble; or none, and why if the planner gave none: empty words
            mean that it is still at work.
        """
        plan = snapshot.state.plan
        if plan is None or not in_trouble(plan):
            return RemediesAnswer(), ""
        asked = self._for(snapshot, plan)
        asked.done.wait(wait_s)
        return asked.answer, asked.trouble

    def asked_at(self) -> datetime | None:
        """The kitchen's time of the picture that the answer is about; none before anything was asked."""
        return self._asked.at if self._asked is not None else None

    def so_far(self) -> HelpSoFar | None:
        """How far the search that was asked for last is; none before the planner has begun with it."""
        asked = self._asked
        told = asked.so_far if asked is not None else None
        if told is None or told.helps is None:
            return None
        return HelpSoFar(int(told.seconds), int(SEARCH_S), told.helps)

    def again(self) -> None:
        """The next look asks anew, unless the planner is still at work: something may have happened since."""
        with self._lock:
            if self._asked is not None and self._asked.done.is_set():
                self._asked = None

    def _for(self, snapshot: Snapshot, plan: Plan) -> Asked[RemediesAnswer]:
        with self._lock:
            if self._asked is None or self._revision != snapshot.state.revision:
                self._asked, self._revision = Asked(snapshot.now), snapshot.state.revision
                self._asked.begin(RemediesAnswer, partial(self._ask, self._asked, snapshot, plan))
            return self._asked

    def _ask(self, asked: Asked[RemediesAnswer], snapshot: Snapshot, plan: Plan) -> Answer | Refusal:
        request = plan_request(snapshot.state, snapshot.now)
        question = RemediesQuestion(request=request, plan=plan, seconds=SEARCH_S)
        return self._gateway.ask(question, _TIMEOUT_S, partial(setattr, asked, "so_far"))


def in_trouble(plan: Plan) -> bool:
    """Whether an order is late or left out, or a quality window broken."""
    late = any(not outlook.met or outlook.late_min for outlook in plan.outlooks)
    return late or any(named.window is WindowClass.QUALITY for named in plan.breaks)
