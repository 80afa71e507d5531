"""Where a demo keeps its simulated time and heat, beside the record: one small JSON file, replaced whole."""

import json
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any

_NAME = "practice.json"


def default_demo_folder() -> Path:
    """``coldwright/practice`` in the user's cache folder (XDG base directories)."""
    base = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(base) / "coldwright" / "practice"


def save(folder: Path, values: dict[str, Any]) -> None:
    """Keep the values; a kill leaves either the old file or the new one."""
    draft = folder / f"{_NAME}.new"
    draft.write_text(json.dumps(values), encoding="utf-8")
    os.replace(draft, folder / _NAME)


def load(folder: Path) -> dict[str, Any] | None:
    """What was kept, if anything usable was."""
    try:
        values = json.loads((folder / _NAME).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return values if isinstance(values, dict) and "now" in values else None


def forget(folder: Path, records: Iterable[Path]) -> None:
    """Remove an earlier demo: its own file and the record's, nothing else in the folder."""
    for record in (folder / _NAME, *records):
        for path in (record, *(record.with_name(record.name + end) for end in ("-wal", "-shm", "-journal"))):
            path.unlink(missing_ok=True)
