"""One row a reading, keyed by probe and instant, without a row id."""

from alembic import op
from sqlalchemy import BigInteger, Column, Double, String

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "reading",
        Column("probe", String, primary_key=True),
        Column("measured_at_us", BigInteger, primary_key=True, autoincrement=False),
        Column("seq", BigInteger, primary_key=True, autoincrement=False),
        Column("recorded_at_us", BigInteger, nullable=False),
        Column("celsius", Double, nullable=False),
        Column("battery_percent", Double),
        sqlite_with_rowid=False,
    )
