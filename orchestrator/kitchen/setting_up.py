"""Looks at a kitchen's folder again and again while somebody fills it."""

import threading
from pathlib import Path
from typing import Final

from orchestrator.kitchen.documents import read_document
from orchestrator.kitchen.faults import KitchenFaults
from orchestrator.kitchen.read import read_kitchen
from orchestrator.ports.setting_up import FileFault, FolderLook, Part

_LISTS: Final = (
    ("stations", "kitchen.yaml"),
    ("equipment", "equipment.yaml"),
    ("crew", "crew.yaml"),
    ("orders", "orders.yaml"),
)
_State = tuple[tuple[str, int, int], ...]


class WatchedFolder:
    """Implements `ports.setting_up.KitchenFolder` over a folder of YAML files."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._lock = threading.Lock()
        self._seen: tuple[_State, FolderLook] | None = None

    @property
    def path(self) -> str:
        """Where it lies, for people."""
        return str(self._folder)

    def look(self) -> FolderLook:
        """Read it again, if a file in it has changed since."""
        with self._lock:
            state = self._state()
            if self._seen is None or self._seen[0] != state:
                self._seen = state, self._read()
            return self._seen[1]

    def _state(self) -> _State:
        files = sorted(self._folder.rglob("*.yaml")) if self._folder.is_dir() else []
        stats = [(str(file), file.stat()) for file in files if file.is_file()]
        return tuple((name, stat.st_mtime_ns, stat.st_size) for name, stat in stats)

    def _read(self) -> FolderLook:
        try:
            kitchen = read_kitchen(self._folder)
        except KitchenFaults as told:
            faults = tuple(FileFault(fault.file, fault.line, fault.what, fault.remedy) for fault in told.faults)
            return FolderLook(self._parts(), faults, None)
        return FolderLook(self._parts(), (), kitchen)

    def _parts(self) -> tuple[Part, ...]:
        """Counted by eye, so that a file with faults counts too; in the order in which a plan needs them."""
        parts = [Part(name, file, self._entries(file, name)) for name, file in _LISTS]
        recipes = len(list((self._folder / "recipes").glob("*.yaml")))
        return (*parts[:3], Part("recipes", "recipes/", recipes), parts[3])

    def _entries(self, file: str, key: str) -> int:
        if not (self._folder / file).is_file():
            return 0
        data = read_document(self._folder, file).data
        found = data.get(key) if isinstance(data, dict) else None
        return len(found) if isinstance(found, list) else 0
