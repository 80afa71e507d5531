"""Acts on their way from display processes to the writer, in the kitchen's own schema of a PostgreSQL database."""

import math
from collections.abc import Sequence
from typing import Final

from sqlalchemy import BigInteger, ColumnElement, cast, delete, func, select, update
from sqlalchemy.dialects.postgresql import insert

from orchestrator.adapters.act_tables import ACTS, WRITER
from orchestrator.adapters.database import Database
from orchestrator.ports.relay import WriterSays

_LATE_US: Final = 60_000_000
"""Whoever tapped was told long ago that it is not known to have arrived: it is not carried out any more."""
_OLD_US: Final = 3_600_000_000


def _now() -> ColumnElement[int]:
    """The server's clock in microseconds: all machines share it."""
    return cast(func.extract("epoch", func.clock_timestamp()) * 1_000_000, BigInteger)


class SqlRelay:
    """Implements `ports.relay.Relay`."""

    def __init__(self, url: str) -> None:
        """Open it, making its tables. Raises: LogUnavailable."""
        self._database = Database(url, "acts")

    def hand_in(self, command_id: str, body: str) -> None:
        """Put a command down. Raises: LogUnavailable."""
        row = insert(ACTS).values(command_id=command_id, body=body, asked_us=_now(), outcome="")
        # Sent once more after nobody answered: it waits anew. What was answered keeps its answer.
        again = row.on_conflict_do_update(index_elements=["command_id"], set_={"asked_us": _now()})
        with self._database.writing() as connection:
            connection.execute(delete(ACTS).where(ACTS.c.asked_us < _now() - _OLD_US))
            connection.execute(again)

    def outcome(self, command_id: str) -> str:
        """What became of it. Raises: LogUnavailable."""
        with self._database.reading() as connection:
            return str(connection.execute(select(ACTS.c.outcome).where(ACTS.c.command_id == command_id)).scalar() or "")

    def waiting(self) -> Sequence[tuple[str, str]]:
        """Not answered yet, oldest first. Raises: LogUnavailable."""
        fresh = select(ACTS.c.command_id, ACTS.c.body).where(ACTS.c.outcome == "", ACTS.c.asked_us > _now() - _LATE_US)
        with self._database.reading() as connection:
            return [(row.command_id, row.body) for row in connection.execute(fresh.order_by(ACTS.c.asked_us))]

    def answer(self, command_id: str, outcome: str) -> None:
        """Say what became of a command. Raises: LogUnavailable."""
        with self._database.writing() as connection:
            connection.execute(update(ACTS).where(ACTS.c.command_id == command_id).values(outcome=outcome))

    def say(self, said: WriterSays) -> None:
        """The writer lives. Raises: LogUnavailable."""
        told = {"heard_us": _now(), "says": said.model_dump_json()}
        row = insert(WRITER).values(one=1, **told).on_conflict_do_update(index_elements=["one"], set_=told)
        with self._database.writing() as connection:
            connection.execute(row)

    def heard(self) -> tuple[float, WriterSays]:
        """When the writer last said something, and what. Raises: LogUnavailable."""
        with self._database.reading() as connection:
            row = connection.execute(select((_now() - WRITER.c.heard_us).label("ago_us"), WRITER.c.says)).first()
        if row is None:
            return math.inf, WriterSays()
        return row.ago_us / 1e6, WriterSays.model_validate_json(row.says)

    def close(self) -> None:
        """Release the connections."""
        self._database.close()
