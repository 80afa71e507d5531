"""From a request to a checked plan."""

import contextlib
import gc
import logging
import math
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from orchestrator.core.models import Plan, PlanAnswer, PlanRequest
from orchestrator.planner.checked import Candidate, assembled, first_sound, put_keeping_holds
from orchestrator.planner.demand import Demand
from orchestrator.planner.patience import Patience
from orchestrator.planner.posing import Posed, Question, constructed
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.regroup import searched, worth
from orchestrator.planner.searching import How

LOG = logging.getLogger(__name__)
Effort = Literal["repair", "full"]
Stop = Callable[[], bool]
_LEAST_SOLVE_S = 0.2
REPAIR_S = 0.15
"""A repair looks for something better for so long: with putting it in numbers, writing it down and checking it, 20
batches have their answer within 300 ms."""
REPAIR_LOOKS = 1100
"""The same counted: about 125 us of a free core each at 20 batches. The same facts get the same repair unless the
machine is slower than that, or busy."""
FIRST_S = 20.0
"""A first plan is worth waiting for; but where it has taken this long, or half of its seconds if that is more, the
orders that find no place are left out all at once instead of a few at a time."""
_CHANCES_S = 0.4
"""Kept for the chances, so that the answer comes within its seconds."""


@dataclass(frozen=True, slots=True)
class Workbench:
    """A request in numbers, less what has turned out impossible: to try schedules on that differ a little."""

    question: Question
    posed: Posed

    @property
    def problem(self) -> Problem:
        """Job i is spec i of the demand."""
        return self.posed.problem

    @property
    def demand(self) -> Demand:
        """What the problem was made of."""
        return self.posed.demand

    @property
    def schedule(self) -> Schedule:
        """The previous plan, repaired where it must be."""
        return self.posed.guess

    def faults(self, schedule: Schedule, request: PlanRequest | None = None) -> tuple[str, ...]:
        """What `check` finds wrong with a schedule as a plan, of this request or one that differs in its stops."""
        question = self.question if request is None else replace(self.question, request=request)
        return assembled(Candidate(question, self.posed, schedule))[1]


def workbench(request: PlanRequest) -> Workbench:
    """Put a request in numbers."""
    question = Question(request)
    return Workbench(question, put_keeping_holds(question))


def make_plan(
    request: PlanRequest,
    *,
    effort: Effort,
    seconds: float,
    seed: int = 0,
    deterministic: bool = False,
    stop: Callable[[], bool] | None = None,
    on_better: Callable[[Schedule], None] | None = None,
    chances: bool = True,
) -> PlanAnswer:
    """Plan, and check what was planned.

    Args:
        request: Everything the planner is told.
        effort: ``repair``: a usable plan by re-insertion, in well under a second. ``full``: the best found in time.
        seconds: Time for ``full``, of which the first guess takes milliseconds.
        seed: Of the search.
        deterministic: Same request and seed, same plan, at the price of one search at a time.
        stop: Asked about twenty times a second; True ends search and repair with the best plan so far.
        on_better: Told of each better schedule while the solver searches.
        chances: Whether a full plan is to say how likely it holds, which takes about half a second.

    Returns:
        The best plan that passes `check`; without one, the violations of the best that does not.
    """
    began = time.perf_counter()
    patience = _patience(request, effort, seconds, stop, deterministic=deterministic)
    if effort == "repair":
        with _uncollected():
            plan, faults = first_sound([_first(request, patience)])
        return PlanAnswer(plan=plan, violations=faults, seconds=time.perf_counter() - began)
    first = _first(request, patience)
    candidates = [first]
    # A repeatable answer may not depend on how fast this machine is today.
    left = seconds if deterministic else seconds - (time.perf_counter() - began) - min(_CHANCES_S, seconds / 10)
    how = How(left, seed, deterministic, stop, on_better)
    if left > _LEAST_SOLVE_S and first.posed.problem.jobs and not how.stopped:
        candidates = [*_searched(first, how), first]
    plan, faults = first_sound(sorted(candidates, key=lambda candidate: worth(candidate, first)))
    if plan is not None and chances and not how.stopped:
        plan = _with_chances(request, plan, seed)
    return PlanAnswer(plan=plan, violations=faults, seconds=time.perf_counter() - began)


def _patience(
    request: PlanRequest, effort: Effort, seconds: float, stop: Stop | None, *, deterministic: bool
) -> Patience:
    """How long is waited for what construction makes; deterministic, no clock is asked."""
    if request.previous is None:
        looks, lasts = math.inf, max(FIRST_S, seconds / 2)
    elif effort == "repair":
        looks, lasts = REPAIR_LOOKS, min(REPAIR_S, seconds)
    else:
        looks, lasts = math.inf, seconds
    ends = math.inf if deterministic else time.process_time() + lasts
    return Patience(looks, ends) if stop is None else Patience(looks, ends, stop)


def _first(request: PlanRequest, patience: Patience | None = None) -> Candidate:
    """What construction makes of a request; the plan before, repaired, if there is one."""
    question = Question(request)
    posed = put_keeping_holds(question, partial(constructed, patience=patience), patience)
    return Candidate(question, posed, posed.guess)


@contextlib.contextmanager
def _uncollected() -> Iterator[None]:
    """No collection of garbage meanwhile: one of all that a process holds takes as long as a repair does."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _searched(first: Candidate, how: How) -> list[Candidate]:
    """What the search finds; nothing, and a line in the log, if it fails."""
    try:
        return searched(first, how)
    except Exception:
        # A fault of ours; the kitchen still needs its plan, and there is one without the search.
        LOG.exception("the search failed; the plan is offered without")
        return []


def _with_chances(request: PlanRequest, plan: Plan, seed: int) -> Plan:
    """The plan with how likely it holds; without, and a line in the log, if the simulation fails."""
    # Imported late: a repair must not wait for numpy and scipy.
    from orchestrator.planner.risk import with_chances

    try:
        return with_chances(request, plan, seed=seed)
    except Exception:
        # A fault of ours; the plan is sound without.
        LOG.exception("the simulation failed; the plan is offered without chances")
        return plan
