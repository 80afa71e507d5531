"""Spanish: words of outcomes and of faults in forms, by key."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
