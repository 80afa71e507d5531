"""Spanish: words about chances: how likely an order is on time and a window kept, and what it hangs on."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
