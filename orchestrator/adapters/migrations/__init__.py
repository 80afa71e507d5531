"""Brings a database up to the present tables: by Alembic, one step after another, in the transaction that opens it."""

from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from sqlalchemy import Connection, inspect, text

if TYPE_CHECKING:
    from alembic.config import Config

Part = Literal["log", "readings", "access", "jobs", "acts"]

HEADS: Final[dict[Part, int]] = {"log": 2, "readings": 2, "access": 3, "jobs": 1, "acts": 1}
"""The newest step of each part; a test holds them to the files."""

_HERE: Final = Path(__file__).parent


class NewerSchema(Exception):
    """The tables were made by a newer version of the program."""

    def __init__(self, found: int, known: int) -> None:
        """Keep both numbers."""
        super().__init__(f"schema {found}, known {known}")
        self.found, self.known = found, known


def bring_up(connection: Connection, part: Part) -> None:
    """Make the tables, or take them from whatever step they are at to the newest.

    Args:
        connection: In a transaction: either all of it happens or nothing.
        part: Which tables.

    Raises:
        NewerSchema: the tables are from a later version; nothing was changed.
    """
    known = HEADS[part]
    found = _found(connection, part)
    if found > known:
        raise NewerSchema(found, known)
    if found == known:
        return  # and Alembic, which takes a while to load, is not needed
    from alembic import command

    config = _config(connection, part)
    if found and not inspect(connection).has_table(version_table(part)):
        command.stamp(config, _revision(found))  # made before steps were counted by Alembic
    command.upgrade(config, _revision(known))
    if connection.dialect.name == "sqlite":
        # Versions before Alembic look here, and leave alone what is newer than they know.
        connection.exec_driver_sql(f"PRAGMA user_version = {known}")


def version_table(part: Part) -> str:
    """Where Alembic notes the step; both parts may share one database."""
    return f"{part}_schema"


def _found(connection: Connection, part: Part) -> int:
    if connection.dialect.name == "sqlite":
        return int(connection.exec_driver_sql("PRAGMA user_version").scalar_one())
    if not inspect(connection).has_table(version_table(part)):
        return 0
    ours = f"SELECT version_num FROM {version_table(part)}"  # noqa: S608 - one of two names of our own
    return int(connection.execute(text(ours)).scalar_one())


def _revision(number: int) -> str:
    return f"{number:04}"


def _config(connection: Connection, part: Part) -> "Config":
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(_HERE).replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    config.set_main_option("version_locations", str(_HERE / part).replace("%", "%%"))
    config.attributes["connection"] = connection
    config.attributes["version_table"] = version_table(part)
    return config
