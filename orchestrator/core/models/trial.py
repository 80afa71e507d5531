"""What was found when a draft of a recipe was made for trial."""

from typing import Annotated

from pydantic import AwareDatetime, Field

from orchestrator.core.ids import StepId
from orchestrator.core.models.base import Model
from orchestrator.core.quantities import Quantity


class AmountUsed(Model):
    """What really went in, where it was not what the draft asked for at that size."""

    step: StepId
    line: int = Field(ge=0)
    """Position among what the step takes, from 0."""
    amount: Quantity


class Trial(Model):
    """One making of a draft."""

    factor: float = Field(gt=0, le=1000, allow_inf_nan=False)
    """How many times the draft's amounts were made."""
    made: AwareDatetime
    used: tuple[AmountUsed, ...] = Field(default=(), max_length=500)
    brix: Annotated[float | None, Field(ge=0, le=100, allow_inf_nan=False)] = None
    """Degrees Brix: grams of sucrose in 100 g, by refractometer."""
    weight_kg: Annotated[float | None, Field(gt=0, le=10_000, allow_inf_nan=False)] = None
    """What came out, weighed."""
    notes: str = Field(default="", max_length=4000)
    """How it tastes and sits in the mouth, and what to try next."""
