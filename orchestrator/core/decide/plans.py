"""The kitchen's import, and plans: offered, adopted, waiting for a person, declined."""

from dataclasses import replace
from typing import Final

from orchestrator.core import adoption, days
from orchestrator.core.commands import AskReplan, DecidePlan, ImportKitchen, OfferPlan, RecordInstants
from orchestrator.core.decide.case import Case, Decision, named, with_replan
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Event, InstantsFound, KitchenImported, PlanAdopted, PlanDeclined, PlanProposed
from orchestrator.core.found import news
from orchestrator.core.ids import LotCode
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.models import Plan, Violation
from orchestrator.core.state import LotStatus

_NAMED_VIOLATIONS: Final = 3


def import_kitchen(case: Case, command: ImportKitchen) -> Decision | Refusal:
    """Take over a kitchen folder, once, and ask for its first plan."""
    if case.state.kitchen is not None:
        return Refusal(
            code=RefusalCode.WRONG_STATE,
            thing=command.kitchen.name,
            status=f"{case.state.kitchen.name} was imported already",
            remedy="begin with an empty record to import another kitchen",
        )
    # Files may be older than their first start: then the days go on at once.
    on = days.moved(replace(case.state, kitchen=command.kitchen), case.now, at_first=True)
    taken: tuple[Event, ...] = (KitchenImported(kitchen=command.kitchen),)
    return with_replan(case, taken if on is None else (*taken, on), "first plan")


def offer(case: Case, command: OfferPlan) -> Decision | Refusal:
    """Adopt a plan at once, let it wait for a person, or refuse it because facts have changed."""
    if _of_former_days(case, command.plan):
        status, remedy = "made before the days went on", "a plan made from present facts"
        return Refusal(code=RefusalCode.STALE, thing="plan", status=status, remedy=remedy)
    plan, violations = adoption.stale(case.state, command.plan, case.now)
    if violations:
        return _stale(violations)
    # A quick repair does not have the last word about food: the full plan, seconds later, may find it a place.
    held = () if command.provisional else _held(case, plan)
    made = adoption.moves(case.state, plan)
    waits_for = () if command.provisional else adoption.waits_for(case.state, plan, case.now)
    if adoption.same(case.state, plan):
        return Decision((*(_asked_about(case, plan, waits_for) or _with_chances(case, plan)), *held))
    if case.state.plan is None or not waits_for:
        adopted = PlanAdopted(plan=plan, at=case.now, person=None, moves=made, provisional=command.provisional)
        return Decision((adopted, *held))
    by = adoption.decide_by(made, case.now)
    proposed = PlanProposed(plan=plan, at=case.now, moves=made, waits_for=waits_for, decide_by=by)
    if case.state.agreed is not None and not adoption.waits_beside_repair(case.state, plan, case.now):
        # What the repair gave up without asking this plan gives up too, or less of it: the kitchen works by the better
        # of the two while somebody is asked.
        adopted = PlanAdopted(plan=plan, at=case.now, person=None, moves=made, provisional=True)
        return Decision((adopted, proposed, *held))
    return Decision((proposed,))


def _of_former_days(case: Case, plan: Plan) -> bool:
    """Whether a plan would bring back what has left the plan since it was asked for."""
    gone = set(case.state.past.names)
    named = (*(batch.lot for batch in plan.batches), *(outlook.order for outlook in plan.outlooks))
    return bool(gone) and not gone.isdisjoint(named)


def _asked_about(case: Case, plan: Plan, waits_for: tuple[str, ...]) -> tuple[Event, ...]:
    """The full plan comes to the same as the repair, which nobody was asked about: somebody is, once."""
    proposal = case.state.proposal
    if not waits_for or case.state.agreed is None:
        return ()
    if proposal is not None and adoption.same(case.state, proposal.plan):
        return ()
    by = adoption.decide_by((), case.now)
    return (PlanProposed(plan=plan, at=case.now, moves=case.state.moves, waits_for=waits_for, decide_by=by),)


def _with_chances(case: Case, plan: Plan) -> tuple[Event, ...]:
    """A quick repair tells no chances: the full plan that comes to the same brings them, and moves nothing."""
    present = case.state.plan
    if present is None or present.simulated_runs > 0 or plan.simulated_runs == 0:
        return ()
    return (PlanAdopted(plan=plan, at=case.now, person=None, moves=case.state.moves),)


def _stale(violations: tuple[Violation, ...]) -> Refusal:
    says = "; ".join(violation.says for violation in violations[:_NAMED_VIOLATIONS])
    more = len(violations) - _NAMED_VIOLATIONS
    return Refusal(
        code=RefusalCode.STALE,
        thing="plan",
        status=says + (f"; and {more} more" if more > 0 else ""),
        remedy="a plan made from present facts",
    )


def decide_plan(case: Case, command: DecidePlan) -> Decision | Refusal:
    """A named person adopts or declines the plan that waits."""
    proposal = case.state.proposal
    if proposal is None or proposal.seq != command.proposal:
        status = "no plan waits" if proposal is None else f"plan {proposal.seq} waits instead"
        remedy = "nothing" if proposal is None else f"decide about plan {proposal.seq}"
        return Refusal(code=RefusalCode.STALE, thing=f"plan {command.proposal}", status=status, remedy=remedy)
    who = named(case, f"plan {command.proposal}", "to decide")
    if isinstance(who, Refusal):
        return who
    if not command.adopt:
        return Decision((PlanDeclined(proposal=proposal.seq, at=case.now, person=who),))
    plan, violations = adoption.stale(case.state, proposal.plan, case.now)
    if violations:
        return _stale(violations)
    adopted = PlanAdopted(plan=plan, at=case.now, person=who, moves=adoption.moves(case.state, plan))
    return Decision((adopted, *_held(case, plan)))


def _held(case: Case, plan: Plan) -> tuple[LotHeld, ...]:
    """Begun food for whose next step a plan finds no place does not vanish: somebody decides about it."""
    reason = "no plan finds a place for its next step in time"
    return tuple(LotHeld(lot=lot, at=case.now, reason=reason) for lot in plan.given_up if _is_free(case, lot))


def _is_free(case: Case, lot: LotCode) -> bool:
    record = case.state.lots.get(lot)
    return record is None or record.status is LotStatus.FREE


def replan_asked(case: Case, command: AskReplan) -> Decision:
    """Somebody asks for a new plan."""
    return with_replan(case, (), command.reason or "asked for")


def record_instants(case: Case, command: RecordInstants) -> Decision | Refusal:
    """Last instants of the adopted plan go on record when they say something new."""
    if command.revision != case.state.revision:
        return Refusal(
            code=RefusalCode.STALE,
            thing="last instants",
            status=f"of plan {command.revision}, while plan {case.state.revision} is worked by",
            remedy="those of the adopted plan",
        )
    if not news(case.state.instants, command.starts, command.returns):
        return Decision()
    found = InstantsFound(at=case.now, revision=command.revision, starts=command.starts, returns=command.returns)
    return Decision((found,))


def overdue_proposal(case: Case) -> tuple[Event, ...]:
    """Nobody decided in time: the present plan stands."""
    proposal = case.state.proposal
    if proposal is None or case.now < proposal.decide_by:
        return ()
    return (PlanDeclined(proposal=proposal.seq, at=case.now, person=None),)
