"""From a request to a checked plan."""

import logging
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal

from orchestrator.core.check import check
from orchestrator.core.holding import held_as_before, held_only
from orchestrator.core.ids import LotCode, OrderId, TaskId
from orchestrator.core.models import Plan, PlanAnswer, PlanRequest, Violation, WindowClass
from orchestrator.planner.assemble import assemble
from orchestrator.planner.demand import Demand, explode
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.imminent import hold_imminent
from orchestrator.planner.lags import bounds, network
from orchestrator.planner.lots import actuals_of
from orchestrator.planner.pose import pose
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.repair import clearly_better, repair
from orchestrator.planner.score import score
from orchestrator.planner.sizes import batch_steps
from orchestrator.planner.unmet import why_unmet

LOG = logging.getLogger(__name__)
Effort = Literal["repair", "full"]
_ROUNDS = 12
"""How often the question is put anew, each time without a lot or an order that finds no place."""
_LEAST_SOLVE_S = 0.2
_CHANCES_S = 0.4
"""Kept for the chances, so that the answer comes within its seconds."""
_HELD_SHARE = 0.6
"""Of the time, for a search that moves nothing people are about to begin; the rest, if that cannot save an order."""


@dataclass(slots=True)
class _Question:
    """A request, less what has turned out impossible."""

    request: PlanRequest
    unmet: dict[OrderId, str] = field(default_factory=dict)
    held: set[LotCode] = field(default_factory=set)
    loosened: bool = False
    """Whether what people hold in place may move, because no plan keeps it all."""

    def effective(self) -> PlanRequest:
        """The request without the orders that cannot be met, and with the lots that can no longer be used held."""
        kitchen = self.request.kitchen
        orders = tuple(order for order in kitchen.orders if order.id not in self.unmet)
        held = tuple(dict.fromkeys((*self.request.held_lots, *sorted(self.held))))
        told = {"kitchen": kitchen.model_copy(update={"orders": orders}), "held_lots": held}
        before = self.request.previous
        if before is not None and self.loosened:
            told["previous"] = held_only(before, frozenset())
        return self.request.model_copy(update=told)

    def holds(self) -> frozenset[TaskId]:
        """What people hold in place."""
        before = self.request.previous
        return frozenset(task.id for task in before.tasks if task.held_in_place) if before is not None else frozenset()


@dataclass(frozen=True, slots=True)
class _Posed:
    request: PlanRequest
    demand: Demand
    problem: Problem
    guess: Schedule


@dataclass(frozen=True, slots=True)
class _How:
    """How to search: the keywords of `solve`."""

    seconds: float
    seed: int
    deterministic: bool
    stop: Callable[[], bool] | None
    on_better: Callable[[Schedule], None] | None


@dataclass(frozen=True, slots=True)
class Workbench:
    """A request in numbers, less what has turned out impossible: to try schedules on that differ a little."""

    question: _Question
    posed: _Posed

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
        return _assembled(question, self.posed, schedule)[1]


def workbench(request: PlanRequest) -> Workbench:
    """Put a request in numbers."""
    question = _Question(request)
    return Workbench(question, _posed(question))


def make_plan(
    request: PlanRequest,
    *,
    effort: Effort,
    seconds: float,
    seed: int = 0,
    deterministic: bool = False,
    stop: Callable[[], bool] | None = None,
    on_better: Callable[[Schedule], None] | None = None,
) -> PlanAnswer:
    """Plan, and check what was planned.

    Args:
        request: Everything the planner is told.
        effort: ``repair``: a usable plan by re-insertion, in well under a second. ``full``: the best found in time.
        seconds: Time for ``full``, of which the first guess takes milliseconds.
        seed: Of the search.
        deterministic: Same request and seed, same plan, at the price of one search at a time.
        stop: Asked about twenty times a second; True ends the search with the best plan so far.
        on_better: Told of each better schedule while the solver searches.

    Returns:
        The best plan that passes `check`; without one, the violations of the best that does not.
    """
    began = time.perf_counter()
    question = _Question(request)
    posed = _posed(question)
    schedules = [posed.guess]
    # A repeatable answer may not depend on how fast this machine is today.
    left = seconds if deterministic else seconds - (time.perf_counter() - began) - min(_CHANCES_S, seconds / 10)
    stopped = stop is not None and stop()
    if effort == "full" and left > _LEAST_SOLVE_S and posed.problem.jobs and not stopped:
        how = _How(left, seed, deterministic, stop, on_better)
        schedules = [*_search(posed, how), *schedules]
    ranked = sorted(schedules, key=lambda s: score(posed.problem, s))
    plan, faults = _first_sound(question, posed, ranked)
    if plan is not None and effort == "full" and not (stop is not None and stop()):
        plan = _with_chances(request, plan, seed)
    return PlanAnswer(plan=plan, violations=faults, seconds=time.perf_counter() - began)


def _given_up(question: _Question, demand: Demand) -> tuple[LotCode, ...]:
    """Begun batches with work left that finds no place: they stay in the plan's list, for somebody to decide about."""
    request, actuals = question.request, actuals_of(question.request)
    known = {recipe.id: recipe for recipe in request.kitchen.recipes}
    found = []
    for batch in demand.batches:
        if batch.lot not in question.held or batch.lot in request.held_lots:
            continue
        work = [step for step in batch_steps(known[batch.recipe]) if step.stay is None]
        if any(TaskId(f"{batch.lot}.{step.id}") not in actuals for step in work):
            found.append(batch.lot)
    return tuple(found)


def _without(demand: Demand, lots: set[LotCode]) -> Demand:
    """Batches that no plan can finish are left out; what has happened to them stays among the tasks."""
    batches = tuple(batch for batch in demand.batches if batch.lot not in lots)
    return replace(demand, batches=batches, pegs=tuple(peg for peg in demand.pegs if peg.lot not in lots))


def _search(posed: _Posed, how: _How) -> list[Schedule]:
    """Improve the guess with what people are about to begin in its place; if orders or windows suffer, without."""
    held = hold_imminent(posed.problem, posed.guess)
    if held is posed.problem:
        return _improve(posed, how)
    found = _improve(replace(posed, problem=held), replace(how, seconds=how.seconds * _HELD_SHARE))
    best = min([*found, posed.guess], key=lambda s: score(posed.problem, s))
    worth = score(posed.problem, best)
    if (how.stop is not None and how.stop()) or not (worth.unmet or worth.breaks or worth.late):
        return found
    freed = _improve(replace(posed, guess=best), replace(how, seconds=how.seconds * (1 - _HELD_SHARE)))
    worthwhile = [s for s in freed if clearly_better(score(posed.problem, s), worth)]
    return worthwhile or found


def _improve(posed: _Posed, how: _How) -> list[Schedule]:
    """What the solver makes of the guess; nothing, and a line in the log, if it fails."""
    # Imported late: the solver takes longer to load than a repair takes to make.
    from orchestrator.planner.solve import solve

    try:
        found = solve(
            posed.problem,
            posed.guess,
            seconds=how.seconds,
            seed=how.seed,
            deterministic=how.deterministic,
            on_better=how.on_better,
            stop=how.stop,
        )
        return [found]
    except Exception:
        # A fault of ours; the kitchen still needs its plan, and the guess is one.
        LOG.exception("the solver failed; the first guess is kept")
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


def _posed(question: _Question) -> _Posed:
    """Put the question; where no plan keeps all that is held in place, put it again without."""
    posed = _finishable(question, _pose(question))
    if question.holds() and _assembled(question, posed, posed.guess)[1]:
        question.loosened, question.unmet, question.held = True, {}, set()
        posed = _finishable(question, _pose(question))
    return posed


def _finishable(question: _Question, posed: _Posed) -> _Posed:
    held = question.held - set(question.request.held_lots)
    return replace(posed, demand=_without(posed.demand, held - set(_given_up(question, posed.demand))))


def _pose(question: _Question) -> _Posed:
    """Put the question; where an order finds no place, put it again without what stands in the way."""
    for turn in range(_ROUNDS):
        request = question.effective()
        demand = explode(request)
        problem = pose(request, demand)
        last = turn == _ROUNDS - 1
        if not last and _hold(question, _passed(demand, problem)):
            continue
        guess = repair(problem)
        missing = [OrderId(d.order) for d in problem.dues if any(guess.places[job] is None for job in d.jobs)]
        stuck = _stuck(demand, problem, guess) | _outlived(demand, problem, guess)
        if last or not (missing or stuck):
            break
        if turn < _ROUNDS // 2 and _hold(question, stuck):
            continue
        if not missing:
            break
        for order in _first_to_go(request, missing):
            question.unmet.setdefault(order, why_unmet(request, demand, problem, guess, order))
    return _Posed(request, demand, problem, guess)


def _first_to_go(request: PlanRequest, missing: list[OrderId]) -> list[OrderId]:
    """A third of the orders without a place, least in weight and latest first: without them the others may fit."""
    known = {order.id: order for order in request.kitchen.orders}
    ranked = sorted(missing, key=lambda order: (known[order].weight, -known[order].due.timestamp(), order))
    return ranked[: max(1, len(ranked) // 3)]


def _hold(question: _Question, lots: set[LotCode]) -> bool:
    """Use these lots in no plan; what they were meant for is made anew. False if there is nothing new in it."""
    new = lots - question.held
    question.held |= lots
    return bool(new)


def _passed(demand: Demand, problem: Problem) -> set[LotCode]:
    """Lots whose safety window closes before anybody could use them."""
    net = network(problem)
    starts = {i: job.fixed.start for i, job in enumerate(problem.jobs) if job.fixed is not None and not job.stay}
    low, _ = bounds(net, starts)
    found: set[LotCode] = set()
    for anchors in net.anchors.values():
        for anchor in anchors:
            lot = demand.specs[anchor.stay].lot
            late = anchor.high is not None and low[anchor.job] > anchor.high
            if late and anchor.window is WindowClass.SAFETY and problem.jobs[anchor.job].fixed is None and lot:
                found.add(lot)
    return found


def _outlived(demand: Demand, problem: Problem, guess: Schedule) -> set[LotCode]:
    """Lots already there whose life bounds work that finds no place, while nobody has taken of them: what is made
    anew keeps for longer."""
    found: set[LotCode] = set()
    job_of = {spec.id: job for spec, job in zip(demand.specs, problem.jobs, strict=True)}
    begun = {spec.lot for spec in demand.specs if (job := job_of[spec.id]).fixed is not None and not job.stay}
    for index, spec in enumerate(demand.specs):
        if guess.places[index] is not None or (spec.lot is not None and spec.lot in begun):
            continue
        there = (life for life in spec.lives if life.after not in job_of or job_of[life.after].fixed is not None)
        found |= {life.lot for life in there}
    return found


def _stuck(demand: Demand, problem: Problem, guess: Schedule) -> set[LotCode]:
    """Batches already begun, the next work of which finds no place: no plan can finish them."""
    begun = {s.lot for s, job in zip(demand.specs, problem.jobs, strict=True) if job.fixed is not None and s.lot}
    found: set[LotCode] = set()
    for index, (spec, place) in enumerate(zip(demand.specs, guess.places, strict=True)):
        job = problem.jobs[index]
        if place is not None or job.stay or spec.lot is None or spec.lot not in begun:
            continue
        if all(guess.places[link.after] is not None for link in job.after):
            found.add(spec.lot)
    return found


def _first_sound(question: _Question, posed: _Posed, ranked: list[Schedule]) -> tuple[Plan | None, tuple[str, ...]]:
    """The first that passes the check, a fresh first guess last of all."""
    faults: tuple[str, ...] = ()
    later: list[Callable[[], Schedule]] = [_as_it_is(s) for s in ranked]
    later.append(lambda: first_guess(posed.problem))
    for make in later:
        plan, found = _assembled(question, posed, make())
        if plan is not None and not found:
            return plan, ()
        if found:
            LOG.error("a plan that breaks the rules is not offered: %s", found[0])
        faults = faults or found
    return None, faults


def _assembled(question: _Question, posed: _Posed, schedule: Schedule) -> tuple[Plan | None, tuple[str, ...]]:
    """A schedule as a plan, and what the check finds wrong with it."""
    try:
        plan = assemble(question.request, posed.demand, posed.problem, schedule, unmet=question.unmet)
        plan = plan.model_copy(update={"given_up": _given_up(question, posed.demand)})
        plan = _let_go(question, plan)
    except Exception as error:
        # Too wrong even to be written down; the next one may be sound.
        return None, (f"{schedule.method} makes no plan: {type(error).__name__}: {error}",)
    return plan, tuple(_says(violation) for violation in check(plan, question.request))


def _let_go(question: _Question, plan: Plan) -> Plan:
    """The plan, naming what it no longer holds in place."""
    if not question.loosened or question.request.previous is None:
        return plan
    kept = held_as_before(plan, question.request.previous)
    still = {task.id for task in kept.tasks if task.held_in_place}
    gone = question.holds() - still - set(actuals_of(question.request))
    return kept.model_copy(update={"let_go": tuple(sorted(gone))})


def _as_it_is(schedule: Schedule) -> Callable[[], Schedule]:
    return lambda: schedule


def _says(violation: Violation) -> str:
    return f"{violation.rule}: {violation.says}"
