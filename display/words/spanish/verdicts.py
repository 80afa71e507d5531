"""Spanish: words of verdicts on limits."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
