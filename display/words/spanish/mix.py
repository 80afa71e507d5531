"""Spanish: words about mixes: what they are made of, what follows, what would balance them."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
