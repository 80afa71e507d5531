"""A disk that can be filled: a small file system of its own where that may be made, else SQLite's own limit."""

import os
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sqlalchemy import Engine, event

_SIZE: str = "6m"
_PAGE: int = 4096
_UNLIMITED: int = 1073741823
"""Source: SQLite documentation, "PRAGMA max_page_count"."""


class SmallDisk:
    """`folder` lies on it. `fill` and `free` work while files there are open."""

    def __init__(self, folder: Path, *, real: bool) -> None:
        self.folder = folder
        self.real = real
        self._left: int | None = None
        self._limit = _UNLIMITED

    def watch(self, *engines: Engine) -> None:
        """Let SQLite's limit stand in for the disk on these connections, where there is no real one."""
        for engine in engines:
            event.listen(engine, "checkout", self._limited)

    def _limited(self, connection: object, *_: object) -> None:
        if self.real:
            return
        if self._left is not None:
            self._limit = connection.execute("PRAGMA page_count").fetchone()[0] + self._left  # type: ignore[attr-defined]
            self._left = None
        connection.execute(f"PRAGMA max_page_count = {self._limit}")  # type: ignore[attr-defined]

    def fill(self, leave: int = 0) -> None:
        """Not a byte is left, or so many pages of 4 KiB."""
        self._left = leave
        if self.real:
            with (self.folder / "filler").open("wb", buffering=0) as filler:
                with suppress(OSError):
                    while True:
                        filler.write(b"\0" * _PAGE)
                filler.truncate(filler.tell() - leave * _PAGE)

    def free(self) -> None:
        """There is room again."""
        self._left, self._limit = None, _UNLIMITED
        (self.folder / "filler").unlink(missing_ok=True)


@contextmanager
def small_disk(size: str = _SIZE) -> Iterator[SmallDisk]:
    """One for as long as the block lasts."""
    with tempfile.TemporaryDirectory(prefix="coldwright-disk-") as folder:
        mount = ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", folder]
        real = os.geteuid() == 0 and subprocess.run(mount, capture_output=True, check=False).returncode == 0
        try:
            yield SmallDisk(Path(folder), real=real)
        finally:
            if real:
                subprocess.run(["umount", "--lazy", folder], check=True)
