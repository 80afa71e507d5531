"""Which orders, windows, shifts and machines are in conflict where an order cannot be met, to an irreducible set."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from orchestrator.core.ids import OrderId
from orchestrator.core.models import Plan, PlanRequest
from orchestrator.core.models.remedy import Conflict, ConflictPart, PartKind
from orchestrator.planner.demand import explode
from orchestrator.planner.first_guess import RULES
from orchestrator.planner.generation import generate
from orchestrator.planner.lags import network
from orchestrator.planner.pose import pose
from orchestrator.planner.problem import Schedule
from orchestrator.planner.relaxations import Relaxation, relaxations
from orchestrator.planner.score import score
from orchestrator.planner.trouble import Aim, aim_for, schedule_standings, standings, wants
from orchestrator.planner.wishes import Rule

_SOLVE_S = 1.5
"""How long the solver tries where construction finds no plan with only the set in force."""


@dataclass(slots=True)
class _Trials:
    """Asks whether a plan meets the aim; counts, and ends with its time."""

    request: PlanRequest
    aim: Aim
    until: float
    stop: Callable[[], bool]
    tried: int = 0
    over: bool = False
    known: dict[frozenset[int], bool] = field(default_factory=dict)

    def met(self, all_: Sequence[Relaxation], kept: frozenset[int], *, solve: bool = False) -> bool:
        """Whether a plan is found that meets the aim with only some of the things in force."""
        if kept in self.known and not solve:
            return self.known[kept]
        if self._ends():
            self.over = True
            return True  # nothing more is blamed than has been tried
        self.tried += 1
        request = self.request
        for index, relaxation in enumerate(all_):
            if index not in kept:
                request = relaxation.without(request)
        reached = _reaches(request, self.aim, _SOLVE_S if solve else 0.0, self._ends)
        self.over = self.over or self._ends()
        if not self.over:
            self.known[kept] = reached
        return reached or self.over

    def _ends(self) -> bool:
        """Whether it was stopped, or its time is up: asked before each plan of a trial, and by the solver."""
        return self.stop() or time.perf_counter() > self.until


def conflict(
    request: PlanRequest, plan: Plan, order: OrderId, *, seconds: float, stop: Callable[[], bool] = lambda: False
) -> Conflict:
    """An irreducible set of what stands against an order.

    Divide and conquer over everything that could be in the way; each question is answered by plans made by
    construction, and once more by a short search for the set as a whole. What is found is irreducible with respect to
    the plans tried: a better planner might find a way where none was found.

    Args:
        request: What was asked, with the plan as its previous one.
        plan: A plan that leaves the order out, late, or served with a broken window.
        order: The order.
        seconds: At most so long.
        stop: True ends it early.

    Returns:
        The order and the parts of the conflict.

    Source:
        U. Junker, QuickXPlain: preferred explanations and relaxations for over-constrained problems, AAAI 2004,
        algorithm 1 (from memory).
    """
    trials = _Trials(request, aim_for(order, plan), time.perf_counter() + seconds, stop)
    all_ = relaxations(request, order)
    everything = tuple(range(len(all_)))
    hopeless = not trials.met(all_, frozenset())
    found = () if hopeless else _explain(trials, all_, (), (), everything)
    for index in found:
        # Construction is no oracle: what turns out needless after all goes.
        rest = frozenset(found) - {index}
        found = found if trials.met(all_, rest) else tuple(i for i in found if i in rest)
    whole = hopeless or not found or not trials.met(all_, frozenset(found), solve=True)
    parts = tuple(all_[index].part for index in sorted(found))
    sure = not trials.over and not hopeless and whole and bool(parts)
    said = _says(request, plan, order, parts, hopeless=hopeless, over=trials.over)
    return Conflict(order=order, wants=said[0], parts=parts, says=said[1], irreducible=sure, tried=trials.tried)


def _explain(
    trials: _Trials,
    all_: Sequence[Relaxation],
    background: tuple[int, ...],
    added: tuple[int, ...],
    candidates: tuple[int, ...],
) -> tuple[int, ...]:
    """QuickXplain: of the candidates, those without which the background would leave the aim possible."""
    if trials.over or (added and not trials.met(all_, frozenset(background))):
        return ()
    if len(candidates) == 1:
        return () if trials.over else candidates
    middle = len(candidates) // 2
    first, second = candidates[:middle], candidates[middle:]
    right = _explain(trials, all_, (*background, *first), first, second)
    left = _explain(trials, all_, (*background, *right), right, first)
    return (*left, *right)


def _reaches(request: PlanRequest, aim: Aim, seconds: float, stop: Callable[[], bool]) -> bool:
    """Whether construction, or a short search after it, finds a plan that meets the aim."""
    demand = explode(request)
    lacking = {unmet.order for unmet in demand.unmet}
    problem = pose(request, demand)
    if aim.order in lacking or all(due.order != aim.order for due in problem.dues):
        return False
    made: list[Schedule] = []
    rules: tuple[Rule | Literal["previous"], ...] = ("previous", *RULES) if any(problem.previous) else RULES
    for rule in rules:
        if stop():
            return True  # nothing more is blamed than has been tried
        made.append(generate(problem, network(problem), rule))
        if aim.reached(schedule_standings(problem, made[-1])):
            return True
    if seconds <= 0:
        return False
    from orchestrator.planner.solve import solve

    best = min(made, key=lambda schedule: score(problem, schedule))

    return aim.reached(schedule_standings(problem, solve(problem, best, seconds=seconds, stop=stop)))


def _says(
    request: PlanRequest, plan: Plan, order: OrderId, parts: tuple[ConflictPart, ...], *, hopeless: bool, over: bool
) -> tuple[str, str]:
    """What the order lacks, and the conflict in a sentence."""
    outlook = next(o for o in plan.outlooks if o.order == order)
    lacks = wants(outlook, standings(plan)[order])
    due = next(o.due for o in request.kitchen.orders if o.id == order)
    by = request.kitchen.local(due).strftime("%a %d %b %H:%M")
    head = f"{order} cannot be ready by {by}"
    if hopeless:
        return lacks, f"{head} even alone, with every machine, person and window free: time itself is too short"
    if over:
        among = "; ".join(part.says for part in parts)
        return lacks, f"not all could be tried in time{': among what stands in the way, ' + among if among else ''}"
    if not parts:
        return lacks, f"a plan that serves {order} well was found on the way: planning again may help"
    others = [part.thing for part in parts if part.kind is PartKind.ORDER]
    together = f" together with {' and '.join(others)}" if others else ""
    rest = "; ".join(part.says for part in parts if part.kind is not PartKind.ORDER)
    return lacks, f"{head}{together}{': ' + rest if rest else ''}"
