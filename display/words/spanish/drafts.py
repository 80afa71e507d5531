"""Spanish: words about drafts of recipes, trials, approvals, and who is here."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
