"""For whom a panel is rendered: whoever shares these four shares the rendering."""

from dataclasses import dataclass
from typing import Final, Literal

LANGUAGES: Final = ("en", "es")
ROLES: Final = ("cook", "manager")


@dataclass(frozen=True, slots=True)
class Reader:
    """Language, role, clock format and amounts of a screen; never who stands before it."""

    language: str = "en"
    role: str = "cook"
    clock: Literal["24", "12"] = "24"
    amounts: Literal["metric", "us"] = "metric"

    @classmethod
    def of(cls, language: str, role: str, clock: str, amounts: str = "") -> "Reader":
        """From what a browser sent; what is unknown becomes the default."""
        return cls(
            language if language in LANGUAGES else "en",
            role if role in ROLES else "cook",
            "12" if clock == "12" else "24",
            "us" if amounts == "us" else "metric",
        )
