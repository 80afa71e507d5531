"""What a failure of a database means, and what to do about it."""

import sqlite3
from typing import Any, Final

_DAMAGED: Final = "restore the last backup of the data folder"

_SQLITE: Final = (
    ("SQLITE_BUSY", "is locked by another program", "close the other program that has it open"),
    ("SQLITE_LOCKED", "is locked by another program", "close the other program that has it open"),
    ("SQLITE_FULL", "cannot grow: the disk is full", "free some space on the disk"),
    ("SQLITE_READONLY", "cannot be written", "give the service the right to write the file and its folder"),
    ("SQLITE_CORRUPT", "is damaged", f"{_DAMAGED}; keep the damaged file"),
    ("SQLITE_NOTADB", "is not one of ours, or is damaged", _DAMAGED),
    ("SQLITE_CANTOPEN", "cannot be opened", "check that its folder exists and may be written"),
    ("SQLITE_IOERR", "cannot be read or written", "check the disk and its connection"),
    ("SQLITE_CONSTRAINT", "has been written by another program meanwhile", "let one program only use a data folder"),
)
_POSTGRESQL: Final = (
    # Source: PostgreSQL documentation, appendix A, "PostgreSQL Error Codes" (SQLSTATE; classes by their first two).
    ("53100", "cannot grow: the server's disk is full", "free some space on the server's disk"),
    ("53300", "has no connection left", "raise max_connections, or end what else uses the server"),
    ("28", "does not let us in", "check user and password in the address of the database"),
    ("3D000", "is not there", "create the database, or correct its name in the address"),
    ("42501", "may not be written by this user", "grant the user CREATE on the database, or the rights to the schema"),
    ("25006", "cannot be written: the server is a read-only copy", "give the address of the server that is written"),
    ("55P03", "is locked by another program", "close the other program that has it open"),
    ("57P", "is being shut down or restarted", "wait until the server is back"),
    ("08", "cannot be reached", "check that the server runs and that its address is right"),
    ("23", "has been written by another program meanwhile", "let one service only write a kitchen"),
    ("XX001", "is damaged", "restore the last backup of the database"),
)
_UNREACHABLE: Final = ("cannot be reached", "check that the server runs and that its address is right")


def explain(name: object, error: BaseException | None) -> str:
    """What happened to a database, in words, and what to do about it.

    Args:
        name: How people know it: a file's path, or an address without its password.
        error: Of the driver.
    """
    if isinstance(error, sqlite3.Error):
        found = _meaning(_SQLITE, getattr(error, "sqlite_errorname", "") or "")
    else:
        found = _meaning(_POSTGRESQL, state) if (state := _state(error)) else _UNREACHABLE
    if found is not None:
        return f"{name} {found[0]}; {found[1]}"
    return f"{name} cannot be used ({error}); check the disk and the rights to the data folder"


def _meaning(table: tuple[tuple[str, str, str], ...], code: str) -> tuple[str, str] | None:
    return next(((what, remedy) for prefix, what, remedy in table if code.startswith(prefix)), None)


def _state(error: BaseException | None) -> str:
    """SQLSTATE of what the server said; empty when it said nothing, because it is not there."""
    fields: Any = error.args[0] if error is not None and error.args else None
    return str(fields.get("C", "")) if isinstance(fields, dict) else ""
