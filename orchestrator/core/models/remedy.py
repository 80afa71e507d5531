"""What stands against an order that a plan cannot meet, and what would help it."""

from enum import StrEnum

from orchestrator.core.ids import OrderId
from orchestrator.core.models.base import Model
from orchestrator.core.models.change import Change
from orchestrator.core.models.plan import Outlook


class PartKind(StrEnum):
    """What sort of thing is in conflict."""

    ORDER = "order"
    WINDOW = "window"
    SHIFT = "shift"
    MACHINE = "machine"
    STOP = "stop"
    SUPPLY = "supply"
    HAND_OVER = "hand-over"


class ConflictPart(Model):
    """One thing in conflict: without it, and all else in force, the order can be met."""

    kind: PartKind
    thing: str
    """Id of the order, machine or member of the crew; ``recipe.step`` of a window; the ingredient of a supply."""
    says: str


class Conflict(Model):
    """An order against an irreducible set of other orders, windows, shifts and machines.

    Irreducible with respect to what was tried: with any one of the parts gone a plan was found that meets the
    order and harms no other; with all of them, none was.
    """

    order: OrderId
    wants: str
    """What is not reached: to be met, in time, and with no quality window broken."""
    parts: tuple[ConflictPart, ...]
    says: str
    irreducible: bool
    """False: time ran out before every part had been tried, or no plan was found with all of them gone."""
    smallest: bool = False
    """Whether it is known that no set of fewer things stands in the way, in the same sense."""
    tried: int
    """How many plans were tried for it."""


class RemedyKind(StrEnum):
    """What sort of help it is."""

    CREW = "more crew"
    EARLIER = "earlier start"
    SMALLER = "smaller batch"
    LATER = "later hand-over"
    BREAK = "quality break"


class Remedy(Model):
    """Changes that were planned and checked: the order is met in time with no other order worse."""

    order: OrderId
    kind: RemedyKind
    changes: tuple[Change, ...]
    says: str
    """The changes in words."""
    cost: int
    """For ranking only: minutes of trouble, by prices of ours (see planner/remedy_costs)."""
    gives: str
    """What comes of it, in words."""
    outlooks: tuple[Outlook, ...]
    """Of all orders, in the plan that was made with it."""
    moves: int
    """How much that plan moves for people, against the present one."""
