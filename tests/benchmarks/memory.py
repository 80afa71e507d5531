"""How much memory a process ever had: known on Linux only."""

from pathlib import Path


def peak_mb(pid: int | str | None = "self") -> float | None:
    """The high-water mark of a process in megabytes; None where the system does not tell.

    Not `getrusage`: what that tells of a spawned process counts its parent's memory too.
    """
    try:
        lines = Path(f"/proc/{pid}/status").read_text(encoding="utf-8").splitlines()
        return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024
    except (OSError, StopIteration):
        return None
