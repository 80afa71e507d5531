"""Spanish: words of changes by hand: previews, carrying them out, orders, people and machines."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
