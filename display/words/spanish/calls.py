"""Spanish: words about who is called beyond the kitchen: the message, the page, and the words before the last leave."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
