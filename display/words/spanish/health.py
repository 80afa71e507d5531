"""Spanish: words of probes that may not be believed, their checks and where they are put."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
