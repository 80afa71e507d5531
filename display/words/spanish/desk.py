"""Spanish: words of pages that are read seated: board, probes, alarms, lots, orders, machines, records, the way in."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
