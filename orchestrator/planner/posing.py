"""A request put in numbers, less what turns out impossible: lots that no plan can use, orders that find no place."""

import logging
from collections.abc import Callable, Collection
from dataclasses import dataclass, field, replace
from functools import partial

from orchestrator.core.holding import held_only
from orchestrator.core.ids import LotCode, OrderId, TaskId
from orchestrator.core.models import PlanRequest, WindowClass
from orchestrator.planner.demand import Demand, explode
from orchestrator.planner.grouping import Grouping
from orchestrator.planner.lags import bounds, network
from orchestrator.planner.lots import actuals_of
from orchestrator.planner.patience import Patience
from orchestrator.planner.pose import pose
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.repair import brought_back, repair, repair_again
from orchestrator.planner.sizes import batch_steps
from orchestrator.planner.unmet import Unmet

LOG = logging.getLogger(__name__)
_ROUNDS = 12
"""How often the question is put anew, each time without a lot or an order that finds no place."""

_Asked = tuple[frozenset[OrderId], frozenset[LotCode]]
"""A question as it was put: orders left out, and lots used in no plan."""
Construct = Callable[[Problem], Schedule]
"""How a problem gets its first schedule."""


@dataclass(slots=True)
class Question:
    """A request, less what has turned out impossible."""

    request: PlanRequest
    grouping: Grouping = field(default_factory=Grouping)
    """Which needs share a batch, where that differs from the rule of thumb."""
    unmet: dict[OrderId, str] = field(default_factory=dict)
    held: set[LotCode] = field(default_factory=set)
    crowded: bool = False
    """Whether room for what steps will leave over is given up, because something finds no place."""
    loosened: bool = False
    """Whether what people hold in place may move, because no plan keeps it all."""

    def effective(self) -> PlanRequest:
        """The request without the orders that cannot be met, and with the lots that can no longer be used held."""
        kitchen = self.request.kitchen
        orders = tuple(order for order in kitchen.orders if order.id not in self.unmet)
        held = tuple(dict.fromkeys((*self.request.held_lots, *sorted(self.held))))
        told: dict[str, object] = {"kitchen": kitchen.model_copy(update={"orders": orders}), "held_lots": held}
        if self.crowded:
            told["kept"] = tuple(one for one in self.request.kept if one.sure)
        before = self.request.previous
        if before is not None and self.loosened:
            told["previous"] = held_only(before, frozenset())
        return self.request.model_copy(update=told)

    def holds(self) -> frozenset[TaskId]:
        """What people hold in place."""
        before = self.request.previous
        return frozenset(task.id for task in before.tasks if task.held_in_place) if before is not None else frozenset()


@dataclass(frozen=True, slots=True)
class Posed:
    """A question in numbers, with a first schedule."""

    request: PlanRequest
    demand: Demand
    problem: Problem
    guess: Schedule


def constructed(problem: Problem, patience: Patience | None = None) -> Schedule:
    """As a repair does it; if that fails by a fault of ours, by serial generation alone.

    Args:
        problem: With ``previous`` places if it is to be a repair.
        patience: Of whoever waits.
    """
    try:
        return repair(problem, patience=patience)
    except Exception:
        # The kitchen still needs its plan.
        LOG.exception("the repair failed; the plan is made by serial generation alone")
        return plainly(problem)


def plainly(problem: Problem) -> Schedule:
    """By serial generation alone, the plan before put back as far as it stands: no search has a hand in it."""
    return repair(problem, search=False)


def put(question: Question, construct: Construct = constructed, patience: Patience | None = None) -> Posed:
    """Put the question, anew for as long as an order or a lot finds no place.

    Args:
        question: What turns out impossible is noted in it.
        construct: How first schedules are made.
        patience: Of whoever waits for it, shared by all first schedules. Once it is over, all that finds no place is
            left out at once.
    """
    patience = patience or Patience()
    asked, posed = set[_Asked](), None
    for turn in range(_ROUNDS):
        request = question.effective()
        demand = explode(request, question.grouping)
        problem = pose(request, demand)
        asked.add((frozenset(question.unmet), frozenset(question.held)))
        patience.looks -= len(problem.jobs)  # about as long as so many looks
        last = turn == _ROUNDS - 1
        if not last and _hold(question, _passed(demand, problem)):
            continue
        guess = _guess(problem, construct, posed, patience)
        hurried = patience.over
        if hurried and _missing(problem, guess):
            guess = brought_back(problem, guess)
        posed, missing = Posed(request, demand, problem, guess), _missing(problem, guess)
        stuck = _stuck(demand, problem, guess) | _outlived(demand, problem, guess)
        if last or not (missing or stuck):
            break
        if _give_room(question):
            continue
        if turn < _ROUNDS // 2 and _hold(question, stuck) and not (hurried and missing):
            continue
        if not missing:
            break
        left_out = Unmet(request, demand, problem, guess)
        for order in missing if hurried else _first_to_go(request, missing):
            question.unmet.setdefault(order, left_out.why(order))
    assert posed is not None  # the last turn gives one
    posed = _taken_back(question, posed, partial(_guess, construct=construct, patience=patience), asked)
    return _finishable(question, posed)


def _missing(problem: Problem, guess: Schedule) -> list[OrderId]:
    """Orders that a schedule leaves out."""
    return [OrderId(due.order) for due in problem.dues if any(guess.places[job] is None for job in due.jobs)]


def _guess(problem: Problem, construct: Construct, before: Posed | None, patience: Patience) -> Schedule:
    """A first schedule; where nobody has patience any more, as like that of the question before as may be."""
    if before is None or not problem.previous or not patience.over:
        return construct(problem)
    try:
        return repair_again(problem, before.problem, before.guess, patience)
    except Exception:
        # The kitchen still needs its plan.
        LOG.exception("the answer before could not be put back; the plan is made by serial generation alone")
        return plainly(problem)


def _taken_back(
    question: Question, posed: Posed, construct: Callable[..., Schedule], asked: Collection[_Asked]
) -> Posed:
    """With what was given up on the way, where it finds its place now that other orders are left out.

    What has been asked with it already, and was left for want of a place, is not asked again.
    """
    for lot in given_up(question, posed.demand):
        if (frozenset(question.unmet), frozenset(question.held - {lot})) in asked:
            continue
        trial = replace(question, unmet=dict(question.unmet), held=question.held - {lot})
        request = trial.effective()
        demand = explode(request, question.grouping)
        problem = pose(request, demand)
        if lot in _passed(demand, problem):
            continue
        guess = construct(problem, before=posed)
        if not _missing(problem, guess) and not _stuck(demand, problem, guess) | _outlived(demand, problem, guess):
            question.held.discard(lot)
            posed = Posed(request, demand, problem, guess)
    return posed


def given_up(question: Question, demand: Demand) -> tuple[LotCode, ...]:
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


def _finishable(question: Question, posed: Posed) -> Posed:
    held = question.held - set(question.request.held_lots)
    return replace(posed, demand=_without(posed.demand, held - set(given_up(question, posed.demand))))


def _without(demand: Demand, lots: set[LotCode]) -> Demand:
    """Batches that no plan can finish are left out; what has happened to them stays among the tasks."""
    batches = tuple(batch for batch in demand.batches if batch.lot not in lots)
    return replace(demand, batches=batches, pegs=tuple(peg for peg in demand.pegs if peg.lot not in lots))


def _first_to_go(request: PlanRequest, missing: list[OrderId]) -> list[OrderId]:
    """A third of the orders without a place, least in weight and latest first: without them the others may fit."""
    known = {order.id: order for order in request.kitchen.orders}
    ranked = sorted(missing, key=lambda order: (known[order].weight, -known[order].due.timestamp(), order))
    return ranked[: max(1, len(ranked) // 3)]


def _give_room(question: Question) -> bool:
    """Plan into the room of what is yet to be left over: food that is wanted goes before it. False if there is none."""
    new = not question.crowded and any(not one.sure for one in question.request.kept)
    question.crowded = question.crowded or new
    return new


def _hold(question: Question, lots: set[LotCode]) -> bool:
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
