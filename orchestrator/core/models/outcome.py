"""What would come of changes: plans tried and checked, side by side with the present one; nothing is adopted."""

from orchestrator.core.errors import Refusal
from orchestrator.core.models.base import Model
from orchestrator.core.models.change import Change
from orchestrator.core.models.plan import Move, Outlook, Plan, PlanTerm, WindowBreak


class Outcome(Model):
    """One plan: the present one, or that of a scenario."""

    name: str
    changes: tuple[Change, ...] = ()
    says: tuple[str, ...] = ()
    """The changes in words."""
    refused: Refusal | None = None
    """Why the changes cannot be; then there is no plan."""
    violations: tuple[str, ...] = ()
    """Why no plan was found that keeps the rules."""
    plan: Plan | None = None
    outlooks: tuple[Outlook, ...] = ()
    breaks: tuple[WindowBreak, ...] = ()
    terms: tuple[PlanTerm, ...] = ()
    """Goal by goal."""
    moves: tuple[Move, ...] = ()
    """Against the present plan, with reasons."""
    complete: bool = True
    """False: it was stopped before its time was up."""


class OrderRow(Model):
    """One order in every plan compared, in the order of the plans."""

    order: str
    told: tuple[Outlook | None, ...]
    """None where the order is not asked for."""


class TermRow(Model):
    """One goal in every plan compared."""

    name: str
    stage: int
    values: tuple[float | None, ...]


class Comparison(Model):
    """Plans side by side: the present one first."""

    names: tuple[str, ...]
    orders: tuple[OrderRow, ...]
    terms: tuple[TermRow, ...]
    breaks: tuple[int | None, ...]
    """Quality windows that each misses."""
    moves: tuple[int, ...]
    """How much each moves for people, against the present one."""


def comparison(outcomes: tuple[Outcome, ...]) -> Comparison:
    """One table of several plans.

    Args:
        outcomes: The present plan first.

    Returns:
        A row for every order and goal of any of them; None where a plan says nothing of it.
    """
    told = [{outlook.order: outlook for outlook in outcome.outlooks} for outcome in outcomes]
    terms = [{term.name: term for term in outcome.terms} for outcome in outcomes]
    orders = dict.fromkeys(order for row in told for order in row)
    names = {name: term.stage for row in terms for name, term in row.items()}
    return Comparison(
        names=tuple(outcome.name for outcome in outcomes),
        orders=tuple(OrderRow(order=order, told=tuple(row.get(order) for row in told)) for order in orders),
        terms=tuple(
            TermRow(name=name, stage=stage, values=tuple(row[name].value if name in row else None for row in terms))
            for name, stage in sorted(names.items(), key=lambda pair: pair[1])
        ),
        breaks=tuple(len(outcome.breaks) if outcome.plan is not None else None for outcome in outcomes),
        moves=tuple(len(outcome.moves) for outcome in outcomes),
    )
