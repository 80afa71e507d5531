"""Spanish: words of explanations: why a task stands where it does, and what helps an order."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
