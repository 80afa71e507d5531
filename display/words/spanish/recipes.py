"""Spanish: words about recipes: pages, scaling, drafts, trials and revisions."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
