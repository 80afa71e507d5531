"""The independent checker: any plan against any request, rule by rule, without the solver."""

from collections.abc import Callable, Iterator

from orchestrator.core.check import (
    amounts,
    clean_downs,
    crew,
    given_up,
    heat,
    lives,
    machines,
    outlooks,
    shape,
    supplies,
    times,
    upkeep,
)
from orchestrator.core.check.book import Book
from orchestrator.core.models import Plan, PlanRequest, Violation

RULES: tuple[Callable[[Book], Iterator[Violation]], ...] = (
    shape.ids,
    shape.horizon,
    shape.recipes,
    shape.begun_batches,
    times.durations,
    times.links,
    times.stays,
    times.present,
    supplies.supplies,
    lives.lives,
    times.facts,
    times.held_in_place,
    times.breaks,
    machines.right_machine,
    machines.capacity,
    machines.stopped,
    heat.crowded,
    clean_downs.clean_downs,
    clean_downs.as_written,
    upkeep.precools,
    upkeep.day_ends,
    upkeep.hygiene,
    upkeep.linked,
    crew.portions,
    crew.presence,
    crew.one_thing_at_a_time,
    amounts.sizes,
    amounts.lots,
    amounts.components,
    amounts.orders,
    amounts.usable,
    amounts.allergens,
    outlooks.outlooks,
    outlooks.use_by,
    given_up.given_up,
)
"""All of them, in the order in which they are reported; one function per rule, its formula in its docstring."""


def check(plan: Plan, request: PlanRequest) -> tuple[Violation, ...]:
    """All violations of a plan against what its request says.

    It shares no code with the planner. Instants are compared exactly between tasks that can still be
    moved, and to the minute where a fact is involved, because facts have seconds and plans do not.

    Args:
        plan: The plan to be judged.
        request: Kitchen, present instant, facts, stops and lots that it must respect.

    Returns:
        Violations in the order of `RULES`; empty when the plan keeps them all.
    """
    book = Book(plan, request)
    return tuple(violation for rule in RULES for violation in rule(book))


__all__ = ["RULES", "check"]
