"""Which orders, windows, shifts and machines are in conflict where an order cannot be met, to an irreducible set."""

import contextlib
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from orchestrator.core.ids import OrderId
from orchestrator.core.models import Plan, PlanRequest
from orchestrator.core.models.remedy import Conflict, ConflictPart, PartKind
from orchestrator.planner.demand import explode
from orchestrator.planner.first_guess import LARGE, LARGE_RULES, RULES
from orchestrator.planner.generation import generate
from orchestrator.planner.lags import network
from orchestrator.planner.latest_bounds import is_shut_out
from orchestrator.planner.patience import OutOfPatience, Patience
from orchestrator.planner.pose import pose
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.relaxations import Relaxation, relaxations
from orchestrator.planner.score import score
from orchestrator.planner.trouble import Aim, aim_for, schedule_standings, standings, wants
from orchestrator.planner.wishes import Rule

_SOLVE_S = 1.5
"""How long the solver tries where construction finds no plan with only the set in force."""
_TURNS = 4
"""How often it begins anew where that finds a plan after all."""
_MOST_NAMED = 12
"""More things than that tell nobody anything: then only their number is told."""


Told = Callable[[int, int], None]
"""Told after each question: how many plans have been tried, and how many things could still be in the way."""


def untold(tried: int, left: int) -> None:
    """A `Told` for whoever only waits for the end."""


@dataclass(slots=True)
class _Trials:
    """Asks whether a plan meets the aim; counts, and ends with its time."""

    request: PlanRequest
    aim: Aim
    all_: Sequence[Relaxation]
    until: float
    stop: Callable[[], bool]
    told: Told
    tried: int = 0
    over: bool = False
    good: list[frozenset[int]] = field(default_factory=list)
    """Things that may all be in force: there is a plan."""
    bad: list[frozenset[int]] = field(default_factory=list)
    """Things with which no plan was found; the smallest of them is the answer so far."""
    rules: list[Rule | Literal["previous"]] = field(default_factory=list)
    """Ways to make a plan, the one that last succeeded first."""

    def met(self, kept: frozenset[int], *, solve: bool = False) -> bool:
        """Whether a plan is found that meets the aim with only some of the things in force.

        With fewer things in force than there is a plan for, there is one; with more than none was found for, none.
        """
        if any(kept <= known for known in self.good):
            return True
        if not solve and any(known <= kept for known in self.bad):
            return False
        if self.ends():
            self.over = True
            return True  # nothing more is blamed than has been tried
        self.tried += 1
        request = self.request
        for index, relaxation in enumerate(self.all_):
            if index not in kept:
                request = relaxation.without(request)
        reached = self._reaches(request, _SOLVE_S if solve else 0.0)
        self.over = self.over or self.ends()
        if self.over:
            return True
        (self.good if reached else self.bad).append(kept)
        self.told(self.tried, len(self.smallest or self.all_))
        return reached

    def ends(self) -> bool:
        """Whether it was stopped, or its time is up: asked before each group of work is placed, and by the solver."""
        return self.stop() or time.perf_counter() > self.until

    @property
    def smallest(self) -> frozenset[int] | None:
        """The fewest things with which no plan was found; none if nothing was asked yet."""
        return min(self.bad, key=len, default=None)

    def _reaches(self, request: PlanRequest, seconds: float) -> bool:
        """Whether construction, or a short search after it, finds a plan that meets the aim."""
        demand = explode(request)
        lacking = {unmet.order for unmet in demand.unmet}
        problem = pose(request, demand)
        if self.aim.order in lacking or all(due.order != self.aim.order for due in problem.dues):
            return False
        if is_shut_out(problem, self.aim.order):
            return False  # links, shifts and stops alone leave it no time: nothing need be tried
        made: list[Schedule] = []
        for rule in self._ways(problem):
            if self.ends():
                return True
            with contextlib.suppress(OutOfPatience):
                made.append(generate(problem, network(problem), rule, patience=Patience(ended=self.ends)))
                if self.aim.reached(schedule_standings(problem, made[-1])):
                    self.rules = [rule, *(other for other in self.rules if other != rule)]
                    return True
        if seconds <= 0 or not made:
            return False
        from orchestrator.planner.solve import solve

        best = min(made, key=lambda schedule: score(problem, schedule))
        left = max(0.0, min(seconds, self.until - time.perf_counter()))
        found = solve(problem, best, seconds=left, stop=self.ends)
        return self.aim.reached(schedule_standings(problem, found))

    def _ways(self, problem: Problem) -> list[Rule | Literal["previous"]]:
        if not self.rules:
            self.rules = ["previous", *(LARGE_RULES if len(problem.jobs) >= LARGE else RULES)]
        return [rule for rule in self.rules if rule != "previous" or any(problem.previous)]


def conflict(
    request: PlanRequest,
    plan: Plan,
    order: OrderId,
    *,
    seconds: float,
    stop: Callable[[], bool] = lambda: False,
    told: Told = untold,
) -> Conflict:
    """An irreducible set of what stands against an order.

    Divide and conquer over everything that could be in the way; each question is answered by plans made by
    construction, and once more by a short search for the set as a whole. What is found is irreducible with respect to
    the plans tried: a better planner might find a way where none was found. What time is left goes to look for a
    smaller one. Where time runs out, the smallest set found so far is named: what stands in the way is among it.

    Args:
        request: What was asked, with the plan as its previous one.
        plan: A plan that leaves the order out, late, or served with a broken window.
        order: The order.
        seconds: At most so long, and the time that one group of work takes to be placed.
        stop: True ends it early.
        told: Told of how far it is.

    Returns:
        The order and the parts of the conflict.

    Source:
        U. Junker, QuickXPlain: preferred explanations and relaxations for over-constrained problems, AAAI 2004,
        algorithm 1 (from memory).
    """
    all_ = relaxations(request, order)
    trials = _Trials(request, aim_for(order, plan), all_, time.perf_counter() + seconds, stop, told)
    came = _searched(trials)
    parts = tuple(all_[index].part for index in sorted(came.found)) if len(came.found) <= _MOST_NAMED else ()
    lacks, says = _says(request, plan, order, parts, came)
    return Conflict(
        order=order,
        wants=lacks,
        parts=parts,
        says=says,
        irreducible=came.proven,
        smallest=came.smallest,
        tried=trials.tried,
    )


@dataclass(frozen=True, slots=True)
class _Outcome:
    """How the search ended."""

    found: frozenset[int] = frozenset()
    """What stands in the way, or is known to have it among it."""
    proven: bool = False
    """Whether all of it is needed, and no plan was found with all of it in force."""
    smallest: bool = False
    hopeless: bool = False
    over: bool = False
    """Whether time ran out before that was known."""


def _searched(trials: _Trials) -> _Outcome:
    """The conflict by number, as far as there is time."""
    everything = frozenset(range(len(trials.all_)))
    hopeless = not trials.met(frozenset())
    if hopeless or trials.over:
        return _Outcome(hopeless=hopeless, over=not hopeless)
    trials.bad.append(everything)  # the plan at hand has all of it in force
    found, whole = frozenset[int](), False
    for _ in range(_TURNS):
        among = tuple(sorted(trials.smallest or ()))
        found = _needed(trials, frozenset(_explain(trials, (), (), among)))
        whole = bool(found) and not trials.over and not trials.met(found, solve=True)
        if whole or trials.over or not found:
            break
        # A search has found a plan where construction had not: so something else is in the way too.
        trials.bad = [known for known in trials.bad if not any(known <= good for good in trials.good)]
    if trials.over or (found and not whole):
        return _Outcome(trials.smallest or frozenset(), over=True)
    if not found:
        return _Outcome()
    alone = None if len(found) == 1 else _alone(trials, tuple(sorted(everything)))
    if alone is not None:
        return _Outcome(frozenset({alone}), proven=True, smallest=True)
    # None is in the way alone, so two are the fewest; whether three could be two is not asked: there are many pairs.
    return _Outcome(found, proven=True, smallest=len(found) == 1 or (len(found) == 2 and not trials.over))


def _explain(
    trials: _Trials, background: tuple[int, ...], added: tuple[int, ...], candidates: tuple[int, ...]
) -> tuple[int, ...]:
    """QuickXplain: of the candidates, those without which the background would leave the aim possible."""
    if trials.over or (added and not trials.met(frozenset(background))):
        return ()
    if len(candidates) <= 1:
        return () if trials.over else candidates
    middle = len(candidates) // 2
    first, second = candidates[:middle], candidates[middle:]
    right = _explain(trials, (*background, *first), first, second)
    left = _explain(trials, (*background, *right), right, first)
    return (*left, *right)


def _needed(trials: _Trials, found: frozenset[int]) -> frozenset[int]:
    """Construction is no oracle: what turns out needless after all goes."""
    for index in sorted(found):
        rest = found - {index}
        if not trials.met(rest):
            found = rest
    return found


def _alone(trials: _Trials, candidates: tuple[int, ...]) -> int | None:
    """One thing that stands in the way alone, if there is one; where many may be in force together, none of them is."""
    if trials.over or not candidates or trials.met(frozenset(candidates)):
        return None
    if len(candidates) == 1:
        return None if trials.met(frozenset(candidates), solve=True) else candidates[0]
    middle = len(candidates) // 2
    found = _alone(trials, candidates[:middle])
    return _alone(trials, candidates[middle:]) if found is None else found


def _says(
    request: PlanRequest, plan: Plan, order: OrderId, parts: tuple[ConflictPart, ...], came: _Outcome
) -> tuple[str, str]:
    """What the order lacks, and the conflict in a sentence."""
    outlook = next(o for o in plan.outlooks if o.order == order)
    lacks = wants(outlook, standings(plan)[order])
    due = next(o.due for o in request.kitchen.orders if o.id == order)
    by = request.kitchen.when(due)
    head = f"{order} cannot be ready by {by}"
    if came.hopeless:
        return lacks, f"{head} even alone, with every machine, person and window free: time itself is too short"
    if came.over:
        if not came.found:
            return lacks, "not all could be tried in time"
        if not parts:
            return lacks, f"not all could be tried in time; {len(came.found)} things could still stand in the way"
        among = "; ".join(part.says for part in parts)
        return lacks, f"not all could be tried in time; what stands in the way is among: {among}"
    if not parts:
        return lacks, f"a plan that serves {order} well was found on the way: planning again may help"
    others = [part.thing for part in parts if part.kind is PartKind.ORDER]
    together = f" together with {' and '.join(others)}" if others else ""
    rest = "; ".join(part.says for part in parts if part.kind is not PartKind.ORDER)
    return lacks, f"{head}{together}{': ' + rest if rest else ''}"
