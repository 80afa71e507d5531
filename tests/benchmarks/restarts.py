"""A restart with a year of events, from the log alone and with the state kept, beside the process start alone."""

import json
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Final

from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.markdown import number, table
from tests.benchmarks.year_log import pattern, repeated, write

PATTERN_DAYS: Final = 2
YEAR_DAYS: Final = 364
LOG: Final = "events.db"
SNAPSHOT: Final = "state.snapshot"


def measurements(*, full: bool) -> tuple[Measurement, ...]:
    """A year; in the full set two years as well."""
    years = (1, 2) if full else (1,)
    return tuple(Measurement(f"{count} a", 120.0 * count, partial(measured, YEAR_DAYS * count)) for count in years)


def measured(days: int) -> Figures:
    """Starts in turn, each in a process of its own: with the first days only, all days, and the kept state."""
    with tempfile.TemporaryDirectory() as name:
        few, all_ = Path(name) / "few", Path(name) / "all"
        for folder in (few, all_):
            folder.mkdir()
        records = pattern(PATTERN_DAYS)
        write(few / LOG, records)
        rounds = days // PATTERN_DAYS
        events = write(all_ / LOG, repeated(records, PATTERN_DAYS, rounds))
        last = records[-1].at
        alone = _started(few, last)
        year_later = last + timedelta(days=PATTERN_DAYS * (rounds - 1))
        from_log = _started(all_, year_later)
        kept = (all_ / SNAPSHOT).stat().st_size
        with_state = _started(all_, year_later)
        size = sum(file.stat().st_size for file in all_.glob(f"{LOG}*"))
    if not events <= from_log["seq"] <= with_state["seq"]:
        raise RuntimeError(f"{events} events were written, {from_log['seq']} and {with_state['seq']} read")
    return {"days": days, "events": events, "log_mb": size / 1e6, "kept_mb": kept / 1e6,
            "alone": alone, "log": from_log, "kept": with_state}  # fmt: skip


def _started(folder: Path, now: datetime) -> Figures:
    """The second time: so the files are in memory, and the few days have their own state kept as a year has."""
    if (folder / SNAPSHOT).exists():
        return _child(folder, now)
    again = folder.with_name(f"{folder.name}-warm")
    shutil.copytree(folder, again)
    _child(again, now)
    return _child(folder, now)


def _child(folder: Path, now: datetime) -> Figures:
    words = [sys.executable, "-m", "tests.benchmarks.restart_child", str(folder), now.isoformat()]
    found: Figures = json.loads(subprocess.run(words, check=True, capture_output=True, text=True).stdout)
    return found


def tables(found: Mapping[str, Figures]) -> str:
    """One line for each way to start."""
    rows = []
    for row in sorted(found.values(), key=lambda row: row["days"]):
        named = f"{row['events']} events of {row['days']} days ({row['log_mb']:.0f} MB)"
        says = {
            "alone": f"process start with the first {PATTERN_DAYS} days",
            "log": f"{named}, from the log alone",
            "kept": f"{named}, with the state kept ({row['kept_mb']:.1f} MB)",
        }
        for name, words in says.items():
            one = row[name]
            ratio = one["cpu_s"] / row["alone"]["cpu_s"]
            rows.append([words, *map(number, (one["wall_s"], one["cpu_s"], one["mb"], ratio))])
    head = ["", "seconds", "of the processor", "peak (MB)", "processor ÷ alone"]
    return f"## Restart\n\nFrom the process's first line until the screens answer.\n\n{table(head, rows)}"
