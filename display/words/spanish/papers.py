"""Spanish: english words of what is printed and taken away: labels, sheets, calendars, hand-over."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
