"""Spanish: words of the page round everything, the stations, the board and what they share."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
