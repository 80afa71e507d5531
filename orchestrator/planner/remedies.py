"""Up to three remedies for an order that a plan serves badly, each one really planned and checked."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from orchestrator.core.changes import apply
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import OrderId
from orchestrator.core.models import Plan, PlanRequest
from orchestrator.core.models.change import AllowBreak, Change, ChangeOrder
from orchestrator.core.models.questions import HelpProgress, RemediesAnswer, RemediesQuestion
from orchestrator.core.models.remedy import Conflict, Remedy
from orchestrator.core.moves import differences
from orchestrator.planner.conflicts import conflict
from orchestrator.planner.plan import REPAIR_S, Effort, make_plan
from orchestrator.planner.remedy_costs import cost
from orchestrator.planner.remedy_offer import Offer
from orchestrator.planner.remedy_offers import offers
from orchestrator.planner.trouble import aim_for, standings, troubled

MOST = 3
"""Remedies for an order; more would have to be read when there is no time."""
_MOST_ORDERS = 2
_CONFLICT_SHARE = 0.5
_FEW = 8
"""Rungs of a ladder of which each is worth a search."""
_SEARCH_S = 1.0
"""How long a plan is searched for where a quick one does not do."""


_LEAST_S = 0.1
"""What a trial is taken to need before any was made."""


Told = Callable[[HelpProgress], None]


def untold(progress: HelpProgress) -> None:
    """A `Told` for whoever only waits for the end."""


def remedies(question: RemediesQuestion, stop: Callable[[], bool], told: Told = untold) -> RemediesAnswer:
    """What is in conflict, and what would help.

    Args:
        question: The request, the present plan, and seconds for all of it.
        stop: True ends it early, with what was found.
        told: Told of how far it is.

    Returns:
        For each of the weightiest orders in trouble a conflict and up to three remedies, the cheapest first.
    """
    request = question.request.model_copy(update={"previous": question.plan})
    orders = troubled(question.plan, request)[:_MOST_ORDERS]
    conflicts: list[Conflict] = []
    found: list[Remedy] = []
    complete = True
    ends = time.perf_counter() + question.seconds
    for turn, order in enumerate(orders, start=1):
        began = time.perf_counter()
        # What the order before has left over, this one has; what it took too long, this one lacks.
        share = max(0.0, ends - began) / (len(orders) - turn + 1)
        whose = HelpProgress(order=order, turn=turn, of=len(orders), doing="conflict", tried=0, left=0)
        at = partial(_told, told, whose)
        told(whose)
        named = conflict(
            request, question.plan, order, seconds=share * _CONFLICT_SHARE, stop=stop, told=partial(at, "conflict")
        )
        conflicts.append(named)
        search = _Search(request, question.plan, order, began + share, stop, partial(at, "remedies"))
        found += search.best(offers(request, question.plan, named))
        complete = complete and not search.over
    return RemediesAnswer(conflicts=tuple(conflicts), remedies=tuple(found), complete=complete)


def _told(told: Told, whose: HelpProgress, doing: str, tried: int, left: int) -> None:
    told(whose.model_copy(update={"doing": doing, "tried": tried, "left": left}))


@dataclass(slots=True)
class _Search:
    """Tries offers until their time is up."""

    request: PlanRequest
    plan: Plan
    order: OrderId
    until: float
    stop: Callable[[], bool]
    told: Callable[[int, int], None]
    """Told how many ways have been tried, and how many are left."""
    over: bool = False
    last_s: float = _LEAST_S
    """What the trial before took beyond its search: none is begun that there is less time left for."""

    def best(self, ways: list[Offer]) -> list[Remedy]:
        """The cheapest rung that helps of each way; of all those the cheapest three, no kind twice but for want."""
        found: list[Remedy] = []
        for number, way in enumerate(sorted(ways, key=lambda w: cost(self.request.kitchen, w.rungs[0]))):
            self.told(number, len(ways) - number)
            remedy = self._lowest(way)
            if remedy is not None:
                found.append(remedy)
        ranked = sorted(found, key=lambda r: r.cost)
        first = [r for k, r in enumerate(ranked) if r.kind not in {other.kind for other in ranked[:k]}]
        chosen = [*first, *(r for r in ranked if r not in first)][:MOST]
        return sorted(chosen, key=lambda r: r.cost)

    def _lowest(self, way: Offer) -> Remedy | None:
        """By halves: the highest rung first, then down as far as it helps."""
        best = self._tried(way, len(way.rungs) - 1, search=True)
        low, high = 0, len(way.rungs) - 2
        while best is not None and low <= high:
            middle = (low + high) // 2
            remedy = self._tried(way, middle, search=len(way.rungs) <= _FEW)
            if remedy is not None:
                best, high = remedy, middle - 1
            else:
                low = middle + 1
        return best

    def _tried(self, way: Offer, rung: int, *, search: bool) -> Remedy | None:
        """A remedy, if a plan with these changes serves the order well and no other worse."""
        changes = way.rungs[rung]
        changed = apply(self.request, changes)
        if isinstance(changed, Refusal):
            return None
        aim = aim_for(self.order, self.plan)
        allowed = frozenset((str(c.task), str(c.after)) for c in changes if isinstance(c, AllowBreak))
        for seconds in (0.0, _SEARCH_S) if search else (0.0,):
            if self._ends(seconds + self.last_s):
                self.over = True
                return None
            made = self._made(changed, seconds)
            if made is not None and aim.reached(standings(made, allowed)):
                return self._remedy(way, changes, made)
        return None

    def _made(self, changed: PlanRequest, seconds: float) -> Plan | None:
        """A plan in so many seconds; without any, a quick one. It keeps to the time of all of it too."""
        began = time.perf_counter()
        effort: Effort = "full" if seconds else "repair"
        answer = make_plan(changed, effort=effort, seconds=seconds or REPAIR_S, stop=self._ends, chances=False)
        self.last_s = max(_LEAST_S, time.perf_counter() - began - seconds)
        return answer.plan

    def _ends(self, seconds: float = 0.0) -> bool:
        """Whether it was stopped, or so many seconds are no longer left."""
        return self.stop() or time.perf_counter() + seconds > self.until

    def _remedy(self, way: Offer, changes: tuple[Change, ...], made: Plan) -> Remedy:
        kitchen, begun = self.request.kitchen, {actual.task for actual in self.request.actuals}
        moves = differences(self.plan, made, lambda task: task not in begun)
        return Remedy(
            order=self.order,
            kind=way.kind,
            changes=changes,
            says="; ".join(change.says(kitchen) for change in changes),
            cost=cost(kitchen, changes),
            gives=self._gives(changes, made, len(moves)),
            outlooks=made.outlooks,
            moves=len(moves),
        )

    def _gives(self, changes: tuple[Change, ...], made: Plan, moves: int) -> str:
        kitchen = self.request.kitchen
        outlook = next(o for o in made.outlooks if o.order == self.order)
        ready = kitchen.when(outlook.ready_at) if outlook.ready_at is not None else "in time"
        later = any(isinstance(change, ChangeOrder) for change in changes)
        spare = "by then" if later else f"with {outlook.margin_min} min to spare"
        named = "".join(f"; {b.task} {b.minutes} min {b.side} after {b.after}" for b in made.breaks)
        return f"{self.order} is ready {ready}, {spare}, no other order worse; moves {moves} tasks{named}"
