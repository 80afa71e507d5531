"""Schedules as plans, and what the checker finds wrong with them; only what it passes is offered."""

import logging
from collections.abc import Iterable
from dataclasses import dataclass

from orchestrator.core.check import check
from orchestrator.core.holding import held_as_before
from orchestrator.core.models import Plan, Violation
from orchestrator.planner.assemble import assemble
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.lots import actuals_of
from orchestrator.planner.patience import Patience
from orchestrator.planner.posing import Construct, Posed, Question, constructed, given_up, plainly, put
from orchestrator.planner.problem import Schedule

LOG = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A schedule of a question in numbers: what may become a plan."""

    question: Question
    posed: Posed
    schedule: Schedule


def put_keeping_holds(
    question: Question, construct: Construct = constructed, patience: Patience | None = None
) -> Posed:
    """Put the question; where no plan keeps all that is held in place, put it again without."""
    posed = put(question, construct, patience)
    if question.holds() and assembled(Candidate(question, posed, posed.guess))[1]:
        question.loosened, question.unmet, question.held = True, {}, set()
        posed = put(question, construct, patience)
    return posed


def first_sound(ranked: Iterable[Candidate]) -> tuple[Plan | None, tuple[str, ...]]:
    """The first that passes the check; where none does, what serial generation alone makes of the same request.

    Returns:
        A plan without faults, or none and the faults of the best.
    """
    faults: tuple[str, ...] = ()
    first: Candidate | None = None
    for candidate in ranked:
        first = first or candidate
        plan, found = _sound(candidate)
        if plan is not None:
            return plan, ()
        faults = faults or found
    # A fault of ours in some search: it has had a hand in which lots and orders count as impossible too.
    plan = _plain(first.question) if first is not None else None
    return plan, () if plan is not None else faults


def _plain(asked: Question) -> Plan | None:
    """A plan made without any search."""
    for fresh in (Question(asked.request, asked.grouping), Question(asked.request)):
        posed = put_keeping_holds(fresh, plainly)
        for schedule in (posed.guess, first_guess(posed.problem)):
            plan, _ = _sound(Candidate(fresh, posed, schedule))
            if plan is not None:
                return plan
    return None


def _sound(candidate: Candidate) -> tuple[Plan | None, tuple[str, ...]]:
    plan, faults = assembled(candidate)
    if plan is not None and not faults:
        return plan, ()
    LOG.error("a plan that breaks the rules is not offered: %s", faults[0])
    return None, faults


def assembled(candidate: Candidate) -> tuple[Plan | None, tuple[str, ...]]:
    """A schedule as a plan, and what the check finds wrong with it."""
    question, posed, schedule = candidate.question, candidate.posed, candidate.schedule
    try:
        plan = assemble(question.request, posed.demand, posed.problem, schedule, unmet=question.unmet)
        plan = plan.model_copy(update={"given_up": given_up(question, posed.demand)})
        plan = _let_go(question, plan)
    except Exception as error:
        # Too wrong even to be written down; the next one may be sound.
        return None, (f"{schedule.method} makes no plan: {type(error).__name__}: {error}",)
    return plan, tuple(_says(violation) for violation in check(plan, question.request))


def _let_go(question: Question, plan: Plan) -> Plan:
    """The plan, naming what it no longer holds in place."""
    if not question.loosened or question.request.previous is None:
        return plan
    kept = held_as_before(plan, question.request.previous)
    still = {task.id for task in kept.tasks if task.held_in_place}
    gone = question.holds() - still - set(actuals_of(question.request))
    return kept.model_copy(update={"let_go": tuple(sorted(gone))})


def _says(violation: Violation) -> str:
    return f"{violation.rule}: {violation.says}"
