"""What every list that is written as CSV is."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple


class Listed(NamedTuple):
    """Columns, and rows in the same order."""

    columns: Sequence[str]
    rows: Iterable[Sequence[object]]
