"""Spanish: words about lots in doubt: deviations, places that failed, what was done and what became of each lot."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
