"""Shapes of views about chances, how long steps take, and what a start would be in the way of."""

from datetime import date

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId, LotCode, OrderId, RecipeId, StepId
from orchestrator.core.models import Duration, Model, WindowClass
from orchestrator.core.models.durations import Learned
from orchestrator.core.quantities import Minutes, Quantity


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


class DayMarkView(Model):
    """The date mark of a lot that must be kept cold; see `core.day_marks`."""

    made: AwareDatetime
    """Of the oldest of what went into it: that day is day 1."""
    oldest: LotCode
    day: int
    """Which of the days that count today is."""
    days: int
    """That are allowed."""
    last: date | None
    """The last day on which it may be used; none while it is frozen: the count waits."""
    frozen: bool
    broken: bool
    title: str
    applied: str
    """The text that applied: the code's, or the kitchen's own."""


class GateView(Model):
    """A start gate and whether it is met now."""

    says: str
    met: bool | None
    celsius: float | None
    checked: bool = False
    """A named person looked at it; there was no reading."""
    doubt: str = ""
    """Why a probe that could judge it may not be believed."""
    awaits: str = ""
    """The ingredient that nobody has received yet."""

    @property
    def waited_for(self) -> bool:
        """Whether it waits for somebody to receive something, or to say that it is here."""
        return self.met is None and bool(self.awaits)


class LeaveView(Model):
    """What a step leaves over for other recipes."""

    ingredient: str
    expected: Quantity
    keeps: Minutes | None
    place: str
    """Name of the store where it is kept."""
