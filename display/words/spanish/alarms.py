"""Spanish: words of the alarms page: what each kind of alarm means, the shelf, groups and figures."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {}
