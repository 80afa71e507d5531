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
from orchestrator.core.models.questions import RemediesAnswer, RemediesQuestion
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


Told = Callable[[OrderId, int, int], None]
"""Told while a conflict is looked for: whose it is, how many plans have been tried, and how many things are left."""


def untold(order: OrderId, tried: int, left: int) -> None:
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
    for order in orders:
        share = question.seconds / len(orders)
        began = time.perf_counter()
        named = conflict(
            request, question.plan, order, seconds=share * _CONFLICT_SHARE, stop=stop, told=partial(told, order)
        )
        conflicts.append(named)
        search = _Search(request, question.plan, order, began + share, stop)
        found += search.best(offers(request, question.plan, named))
        complete = complete and not search.over
    return RemediesAnswer(conflicts=tuple(conflicts), remedies=tuple(found), complete=complete)


@dataclass(slots=True)
class _Search:
    """Tries offers until their time is up."""

    request: PlanRequest
    plan: Plan
    order: OrderId
    until: float
    stop: Callable[[], bool]
    over: bool = False

    def best(self, ways: list[Offer]) -> list[Remedy]:
        """The cheapest rung that helps of each way; of all those the cheapest three, no kind twice but for want."""
        found: list[Remedy] = []
        for way in sorted(ways, key=lambda w: cost(self.request.kitchen, w.rungs[0])):
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
            if self._ends(seconds):
                self.over = True
                return None
            effort: Effort = "full" if seconds else "repair"
            made = make_plan(changed, effort=effort, seconds=seconds or REPAIR_S, stop=self._ends).plan
            if made is not None and aim.reached(standings(made, allowed)):
                return self._remedy(way, changes, made)
        return None

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
        ready = (
            kitchen.local(outlook.ready_at).strftime("%a %d %b %H:%M") if outlook.ready_at is not None else "in time"
        )
        later = any(isinstance(change, ChangeOrder) for change in changes)
        spare = "by then" if later else f"with {outlook.margin_min} min to spare"
        named = "".join(f"; {b.task} {b.minutes} min {b.side} after {b.after}" for b in made.breaks)
        return f"{self.order} is ready {ready}, {spare}, no other order worse; moves {moves} tasks{named}"
