"""CSV as every list of ours is taken away: RFC 4180, UTF-8, and no cell that a spreadsheet would run."""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime

_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""Full-width forms too: some programs take them for the same."""


def harmless(cell: str) -> str:
    """A cell that a spreadsheet would take for a formula is marked as text, by an apostrophe; plain numbers are not.

    Source: OWASP, CSV Injection.
    """
    if not cell.startswith(_STARTS_A_FORMULA):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell if cell.strip() == cell else f"'{cell}"


def cell_of(value: object) -> str:
    """As it stands in a file: instants RFC 3339 in UTC, numbers with a point, lists parted by semicolons."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, tuple | list | set | frozenset):
        return "; ".join(cell_of(one) for one in value)
    return str(value)


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """The whole file; its first line names the columns."""
    into = io.StringIO()
    writer = csv.writer(into)
    writer.writerow(columns)
    writer.writerows([harmless(cell_of(value)) for value in row] for row in rows)
    return into.getvalue()
