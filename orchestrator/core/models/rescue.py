"""Rescue cards: what to look for when something goes wrong, what still helps, when to discard. Practice, no verdict.

A card never says a temperature: it names the limits that it defers to, and their figures are shown with it. So no card
can advise what a limit forbids, nor go on advising it when a kitchen replaces the limit by its local code's.
"""

import re
from enum import StrEnum
from typing import Final, Self

from pydantic import Field, model_validator

from orchestrator.core.models.base import Model
from orchestrator.core.models.limit import LimitId
from orchestrator.core.models.recipe import Process
from orchestrator.core.quantities import Minutes

_DEGREES: Final = re.compile(r"\d\s*(?:°|degrees?\b)|\d\s*[CF]\b", re.IGNORECASE)
_TEMPERATURE: Final = re.compile(
    r"\b(?:heat|hot|warm|cool|cold|cook|chill|ice|frozen|freez|thaw|soft|boil|simmer|pasteuris|hob|oven|fridge)", re.I
)


class Sign(StrEnum):
    """What makes a card fit, apart from somebody asking for it."""

    QUALITY = "quality"
    """Somebody reported a problem of this kind."""
    TEMPERATURE = "temperature"
    INGREDIENT = "ingredient"
    MACHINE = "machine"
    TARGET_MISSED = "target missed"
    WINDOW_MISSED = "window missed"
    STORE_WARM = "store warm"
    RECORD_GAP = "record gap"
    GATE_SHUT = "gate shut"


class RescueCard(Model):
    """One trouble of some kinds of work."""

    id: str = Field(pattern=r"^[a-z0-9-]+$")
    title: str = Field(min_length=1, max_length=60)
    """The trouble, in a word or two: ``Curdled``."""
    process: tuple[Process, ...] = Field(min_length=1)
    when: tuple[Sign, ...] = ()
    look_for: tuple[str, ...] = Field(min_length=1)
    helps: tuple[str, ...] = ()
    """What still helps; nothing: nothing does."""
    discard_when: tuple[str, ...] = Field(min_length=1)
    minutes: Minutes = Field(default=0, ge=0, le=1440)
    """What the help costs."""
    cautions: tuple[str, ...] = ()
    limits: tuple[LimitId, ...] = ()
    """Limits that it defers to: they are shown above everything that it advises."""
    source: str = "common practice"

    @property
    def advice(self) -> tuple[str, ...]:
        """Everything that it says to do or not to do."""
        return (*self.helps, *self.discard_when, *self.cautions)

    @model_validator(mode="after")
    def _defers(self) -> Self:
        words = " ".join((*self.look_for, *self.advice))
        if _DEGREES.search(words):
            raise ValueError("a card says no temperature: name the limit under `limits:`, its figures are shown")
        if _TEMPERATURE.search(words) and not self.limits:
            raise ValueError("it is about temperature and names no limit: write under `limits:` to which it defers")
        return self
