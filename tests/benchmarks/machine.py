"""What the figures were measured on, and how busy it was: without that they say nothing."""

import os
import platform
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path


def machine() -> str:
    """Cores, processor, Python and solver, in one line."""
    try:
        cpus = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
        model = next(line.split(":", 1)[1].strip() for line in cpus if line.startswith("model name"))
    except (OSError, StopIteration):
        model = platform.processor() or platform.machine()
    software = f"Python {platform.python_version()}, ortools {version('ortools')}, {platform.system()}"
    return f"{os.cpu_count()} cores of {model}; {software}"


def instant() -> str:
    """Now, to the minute."""
    return f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC"


def load() -> float | None:
    """Processes that wanted a core in the last minute, from others too; none where the system does not tell."""
    return round(os.getloadavg()[0], 1) if hasattr(os, "getloadavg") else None
