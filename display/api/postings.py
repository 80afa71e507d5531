"""What can be handed in: one entry each, from which both the routes and the OpenAPI document are made."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from display.api import crew, demand
from display.api.ordering import NewOrders, command_of
from orchestrator.core.commands import Command
from orchestrator.core.errors import Refusal
from orchestrator.core.models import Model
from orchestrator.gateway.door import Snapshot

FOLLOWS: Final = "A plan follows, and may wait for a person. Repeating the same command_id is harmless."


@dataclass(frozen=True, slots=True)
class Posting:
    """One thing that is handed in and becomes a command."""

    path: str
    """Below /api/v1."""
    name: str
    """Of the operation, for programs made from the document."""
    summary: str
    says: str
    body: type[Model]
    command: Callable[[Snapshot, Any], Command | Refusal]
    """What the body stands for; or why it cannot be."""


POSTINGS: Final[tuple[Posting, ...]] = (
    Posting(
        "/orders",
        "addOrders",
        "Add orders, all of them or none; answered once they are on disk",
        "A plan with them follows, and may wait for a person. Repeating the same command_id is harmless.",
        NewOrders,
        lambda _, body: command_of(body),
    ),
    Posting(
        "/demand/par-levels",
        "setParLevels",
        "Set what a counter is to have in the morning; answered once it is on disk",
        f"For a manager, where the kitchen has one. {FOLLOWS}",
        demand.Levels,
        demand.levelled,
    ),
    Posting(
        "/demand/counts",
        "closeCounter",
        "Put down what was left at a counter; what is missing to par is ordered for the morning",
        f"Counted again on the same evening, the same order is changed. {FOLLOWS}",
        demand.Counts,
        demand.counted,
    ),
    Posting(
        "/demand/hours",
        "addHourlyDemand",
        "Add what is wanted hour by hour: each hour becomes an order, handed over as it begins",
        FOLLOWS,
        demand.Hours,
        demand.by_the_hour,
    ),
    Posting(
        "/crew/presence",
        "sayPresence",
        "Say that somebody is here, or that they leave",
        "Nothing is planned by it. Repeating the same command_id is harmless.",
        crew.Presence,
        crew.said,
    ),
    Posting("/crew/absences", "addAbsence", "Put down that somebody is away", FOLLOWS, crew.Span, crew.away),
    Posting(
        "/crew/shifts",
        "addShift",
        "Put down that somebody is there as well",
        f"For a manager, where the kitchen has one. {FOLLOWS}",
        crew.Span,
        crew.comes_as_well,
    ),
)
