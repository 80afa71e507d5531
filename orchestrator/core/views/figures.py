"""Shapes of views about chances, how long steps take, and what a start would be in the way of."""

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId, OrderId, RecipeId, StepId
from orchestrator.core.models import Duration, Model, WindowClass
from orchestrator.core.models.durations import Learned


class ChanceChange(Model):
    """How likely an order is on time with the present plan, and with the one that waits."""

    order: OrderId
    customer: str
    present: float | None
    """None: the present plan is a quick one that told no chances, or cannot meet the order."""
    proposed: float


class DurationView(Model):
    """How long a step takes: as the recipe says, as finished tasks say, and as it is planned."""

    recipe: RecipeId
    recipe_name: str
    step: StepId
    title: str
    per_tray: bool
    """Minutes are those of a tray of short-cycle work."""
    written: Duration
    """The recipe's own figures."""
    present: Duration
    """With which the planner plans what has not begun."""
    samples: int
    least_samples: int
    """So many are needed before anything is learned."""
    learned: Learned | None
    adopted_at: AwareDatetime | None = None
    adopted_by: CrewId | None = None
    adopted_from: int = 0
    """Finished tasks behind the adopted figures."""


class FollowOnView(Model):
    """What must follow a step in time and would find no machine, were the step started now."""

    title: str
    machine: str
    """Name of the machine that is free first."""
    free_at: AwareDatetime
    needed_by: AwareDatetime
    start_from: AwareDatetime
    """The soonest start after which all that follows fits in time."""
    window: WindowClass
    """Safety: a start is refused; quality: it takes a person and a reason."""
    in_the_way: bool = False
    """It follows something else in hand, and this step would take its machine: that takes a person and a reason."""
