"""Spanish: words about how long steps take: what finished tasks say, and a manager's decision about it."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
