"""Reasons of alarms that core gives as a code, for whoever puts them into words."""

from typing import Final

CODES: Final = {
    "safety",
    "quality",
    "preference",
    "longest",
    "past usual",
    "ceiling",
    "limit",
    "will be late",
    "first leg missed",
    "second leg missed",
    "not planned",
    "planned for less",
}
"""Reasons that core gives as a code; each has words of its own. Any other reason is a sentence already."""
