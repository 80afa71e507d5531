"""Spanish: words about stock: receiving, traces in both directions, recall drills, what is in each store, counts."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
