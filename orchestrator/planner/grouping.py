"""Which needs share a batch: a rule of thumb, and where a plan is better off, a choice of its own."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta

from orchestrator.core.ids import LotCode, RecipeId
from orchestrator.core.models import Recipe
from orchestrator.planner.lots import Need
from orchestrator.planner.sizes import terminal_stay

Where = tuple[RecipeId, str]
"""A recipe, and a consumer of it: an order or a batch."""


@dataclass(frozen=True, slots=True)
class Grouping:
    """How batches differ from what the rule of thumb makes; the rule decides wherever nothing is said."""

    cuts: Mapping[Where, bool] = field(default_factory=dict)
    """Whether a batch of its own begins with what a consumer needs; False: it goes in with the need before it."""
    more: Mapping[Where, int] = field(default_factory=dict)
    """So many runs more than would hold it, of the batch that begins with a consumer."""
    released: frozenset[LotCode] = frozenset()
    """Batches of the adopted plan that are formed anew, none of them begun. Their codes are used again."""


def grouped(recipe: Recipe, needs: list[Need], grouping: Grouping) -> list[list[Need]]:
    """Needs that one batch is to serve, in order of due.

    By the rule of thumb they are apart by no more than half of what the batch's window leaves.
    """
    stay = terminal_stay(recipe)
    span = recipe.shelf_life
    if stay is not None and stay.stay is not None:
        span = None if stay.stay.most is None else stay.stay.most - stay.stay.least
    groups: list[list[Need]] = []
    for need in sorted(needs, key=lambda n: (n.due, n.consumer)):
        near = span is None or (groups and need.due - groups[-1][0].due <= timedelta(minutes=span / 2))
        if groups and not grouping.cuts.get((recipe.id, need.consumer), not near):
            groups[-1].append(need)
        else:
            groups.append([need])
    return groups
