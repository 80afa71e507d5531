"""Tables of the acts on their way to the writer (steps: `migrations/acts`)."""

from sqlalchemy import BigInteger, Column, MetaData, String, Table

METADATA = MetaData()
ACTS = Table(
    "act",
    METADATA,
    Column("command_id", String, primary_key=True),
    Column("body", String, nullable=False),
    Column("asked_us", BigInteger, nullable=False),
    Column("outcome", String, nullable=False),
)
WRITER = Table(
    "act_writer",
    METADATA,
    Column("one", BigInteger, primary_key=True, autoincrement=False),
    Column("heard_us", BigInteger, nullable=False),
    Column("says", String, nullable=False),
)
