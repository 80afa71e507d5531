"""Why a task stands where it does: what holds it from either side, in words and by name."""

from enum import StrEnum

from orchestrator.core.ids import CrewId, EquipmentId, TaskId
from orchestrator.core.models.base import Model


class HoldKind(StrEnum):
    """What sort of thing holds a task."""

    BEGUN = "begun"
    """It has begun, or is over."""
    HELD = "held in place"
    NOW = "present"
    """It would begin in the past."""
    FOLLOWS = "follows"
    """What it follows has not ended yet, or what follows it has begun by then."""
    WINDOW = "window"
    """A least or a most between it and what it follows, or of the stay between."""
    RELEASE = "release"
    """It may not begin, or be handed over, before then."""
    DUE = "due"
    """An order would be late, or later."""
    MACHINE = "machine"
    STOPPED = "machine stopped"
    CLEAN = "clean-down"
    PERSON = "person at other work"
    SHIFT = "nobody there"
    STORE = "store full"
    HEAT = "warm food"
    """A freezer would have more warm food in it than freezes at the usual pace."""
    HORIZON = "horizon"
    RULE = "rule"
    """Another rule of the checker."""
    GOAL = "goal"
    """It could be, but a goal would suffer."""
    FREE = "free"
    """Nothing holds it."""


class Hold(Model):
    """One thing that keeps a task from being a minute earlier, or later."""

    kind: HoldKind
    says: str
    task: TaskId
    """Whom it holds: the task itself, or one that would have to move along."""
    tasks: tuple[TaskId, ...] = ()
    """What stands in the way."""
    equipment: EquipmentId | None = None
    crew: tuple[CrewId, ...] = ()
    goal: str = ""
    """Name of the plan's term that would suffer."""
    by: float = 0.0
    """How much it would grow."""


class WhyNot(Model):
    """Why not a minute earlier, or why not a minute later."""

    holds: tuple[Hold, ...]
    """Of the task alone, all else where it is; never empty."""
    along: tuple[TaskId, ...] = ()
    """Tasks that hang on it by windows and would have to move along."""
    together: tuple[Hold, ...] = ()
    """What holds all of them together; empty where nothing has to move along."""
