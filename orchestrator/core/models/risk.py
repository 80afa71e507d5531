"""How likely a plan keeps its promises when steps take shorter or longer than usual."""

from typing import Final

from pydantic import Field

from orchestrator.core.ids import OrderId, TaskId
from orchestrator.core.models.base import Model
from orchestrator.core.models.recipe import WindowClass

CERTAIN: Final = 0.995
"""From here on an order is called as good as certain."""
ASSUMES: Final = (
    "Each step takes its shortest to longest minutes, most often about the usual ones, whatever the others take.",
    "Steps with one figure only, trays and clean-downs always take just that.",
    "Nothing begins before its planned instant, unless a window would close; nobody re-plans.",
    "Whoever of the skilled is free and on shift takes the work, and sees it through into a break.",
    "Left out: machines that break down, people who do not come, food that fails, and how full the stores are.",
)
"""What the simulation takes for granted, for whoever reads a chance."""


class Cause(Model):
    """A step whose length decides over a promise."""

    task: TaskId
    title: str
    chance_if_usual: float = Field(ge=0, le=1)
    """Share of the runs that keep the promise, among those in which this step took its usual minutes or less."""


class Chance(Model):
    """The share of simulated runs that keep a promise, and what it may be out by."""

    chance: float = Field(ge=0, le=1)
    low: float = Field(ge=0, le=1)
    """Lower end of the 95 % interval: a simulation is a sample."""
    high: float = Field(ge=0, le=1)
    causes: tuple[Cause, ...] = ()
    """Steps that cost most of what is missing to certainty, the worst first; at most three."""


class OrderChance(Chance):
    """How likely an order is ready by its due instant."""

    order: OrderId


class WindowChance(Chance):
    """How likely a window is kept."""

    task: TaskId
    """It starts too late where the window is missed."""
    title: str
    after: TaskId
    """The task, or the stay, from whose end or beginning the window counts."""
    window: WindowClass


class Risk(Model):
    """What came of simulating a plan."""

    runs: int
    seed: int
    orders: tuple[OrderChance, ...]
    """Orders that the plan meets, early or late."""
    windows: tuple[WindowChance, ...]
    """Quality and safety windows that are still open, the least likely first."""
    assumes: tuple[str, ...]
    """What the simulation takes for granted and what it leaves out, in words."""
