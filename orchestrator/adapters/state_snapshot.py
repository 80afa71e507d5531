"""The folded state, kept beside the log: so that a start reads what came since, not years of events.

It is a convenience and never the record: whatever does not fit (other code, another log, a damaged file) throws it
away, and the log is read from its beginning.
"""

import hashlib
import io
import json
import logging
import os
import pickle
import platform
from collections.abc import Callable
from contextlib import suppress
from enum import Enum
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

import orchestrator
from orchestrator.core.state import State
from orchestrator.ports.event_log import LogUnavailable

LOG = logging.getLogger(__name__)
_FORMAT: Final = 1
_ROOMS: Final = ("core", "thermal")
"""Whose code makes the state out of events."""
_PLAIN: Final = {("datetime", name) for name in ("datetime", "date", "time", "timedelta", "timezone")} | {
    ("pydantic_core._pydantic_core", "TzInfo"),
    ("builtins", "frozenset"),
    ("builtins", "set"),
}


def _member(kind: object, name: str) -> Enum:
    """A member of an enum, as Python 3.11.0 to 3.11.3 write it down: ``getattr`` of its class and name.

    Raises:
        pickle.UnpicklingError: nothing else may be got that way.
    """
    if not (isinstance(kind, type) and issubclass(kind, Enum) and name in kind.__members__):
        raise pickle.UnpicklingError(f"{name} of {kind!r} has no place in a state")
    return kind[name]


class _Facts(pickle.Unpickler):
    """Reads classes of core and thermal, and instants, nothing else: what stands in a file can start no other code.

    Source: Python's documentation of pickle, "Restricting globals".
    """

    def find_class(self, module: str, name: str) -> Any:
        """A class by its name. Raises: pickle.UnpicklingError for any other name."""
        if (module, name) == ("builtins", "getattr"):
            return _member
        found = super().find_class(module, name) if self._may(module, name) else None
        if not isinstance(found, type):
            raise pickle.UnpicklingError(f"{module}.{name} has no place in a state")
        return found

    def _may(self, module: str, name: str) -> bool:
        ours = module.startswith(tuple(f"orchestrator.{room}." for room in _ROOMS))
        return (ours and "." not in name) or (module, name) in _PLAIN


@cache
def code() -> str:
    """What the state was folded by: SHA-256 of the code that does it, with the versions of Python and pydantic."""
    told = hashlib.sha256(f"{platform.python_version()} {version('pydantic')}".encode())
    base = Path(orchestrator.__file__).parent
    for file in sorted(file for room in _ROOMS for file in (base / room).rglob("*.py")):
        told.update(f"\n{file.relative_to(base)}\n".encode())
        told.update(file.read_bytes())
    return told.hexdigest()


class StateSnapshot:
    """Implements `ports.event_log.Snapshots` in one file: a line that says what it is, then the state."""

    def __init__(self, file: Path, chain_at: Callable[[int], str | None]) -> None:
        """Args:
        file: Replaced whole each time.
        chain_at: The hash of a record of the log, by seq; none if there is no such record.
        """
        self._file = file
        self._chain_at = chain_at
        # Asked now, while the files are those that run: newer ones may be installed before a state is first kept.
        code()

    def load(self) -> State | None:
        """The state as it was kept, or none. Whatever does not fit is removed. Raises: LogUnavailable."""
        try:
            whole = self._file.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            LOG.warning("%s cannot be read (%s): the log is read from its beginning", self._file, error.strerror)
            return None
        try:
            return self._understood(whole)
        except LogUnavailable:
            raise
        except Exception as fault:  # whatever is wrong with it, the log has everything
            LOG.info("%s is not used (%s): the log is read from its beginning", self._file, fault)
            with suppress(OSError):
                self._file.unlink(missing_ok=True)
            return None

    def _understood(self, whole: bytes) -> State:
        line, _, body = whole.partition(b"\n")
        head = json.loads(line)
        if head["format"] != _FORMAT or head["code"] != code():
            raise ValueError("made by other code")
        if head["sha256"] != hashlib.sha256(body).hexdigest():
            raise ValueError("damaged")
        if head["chain"] != self._chain_at(head["seq"]):
            raise ValueError("of another log")
        state = _Facts(io.BytesIO(body)).load()
        if not isinstance(state, State) or state.seq != head["seq"]:
            raise ValueError("no state")
        return state

    def keep(self, state: State) -> None:
        """Replace what was kept. Without a record of it on disk, or where nothing can be written, nothing is kept."""
        try:
            chain = self._chain_at(state.seq)
            if chain is None:
                return
            body = pickle.dumps(state, protocol=5)
            head = {"format": _FORMAT, "code": code(), "seq": state.seq, "chain": chain}
            head["sha256"] = hashlib.sha256(body).hexdigest()
            self._replace(json.dumps(head).encode() + b"\n" + body)
        except Exception as error:  # pickle alone raises five kinds: a start never fails for a convenience
            LOG.warning("%s was not kept (%s): the next start reads more of the log", self._file, error)

    def _replace(self, whole: bytes) -> None:
        draft = self._file.with_name(f"{self._file.name}.new")
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(whole)
            file.flush()
            os.fsync(file.fileno())
        os.replace(draft, self._file)
