"""In which language, on which clock and in which amounts somebody reads, and what the files say in other languages."""

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from orchestrator.core.models.base import Model

Language = Literal["en", "es"]
"""ISO 639-1 codes of the languages that screens speak."""


def _as_text(value: Any) -> Any:
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


Clock = Annotated[Literal["24", "12"], BeforeValidator(_as_text)]
"""Hours of a day on the clock, with or without quotes in a file."""
AmountsIn = Literal["metric", "us"]


class Ways(Model):
    """How somebody wants to read; what is left out is as the kitchen has it."""

    language: Language | None = None
    clock: Clock | None = None
    amounts: AmountsIn | None = None


class Texts(Model):
    """What the kitchen's files say, in one other language: by the text itself as it stands there.

    A text that is changed in its file has no translation until somebody writes one: an old method is never shown
    beside a new one.
    """

    language: Language
    texts: dict[str, str] = Field(default_factory=dict)
