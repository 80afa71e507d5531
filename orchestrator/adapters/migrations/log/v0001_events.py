"""One row an event."""

from alembic import op
from sqlalchemy import BigInteger, Column, String

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "event",
        Column("seq", BigInteger, primary_key=True, autoincrement=False),
        Column("recorded_at_us", BigInteger, nullable=False),
        Column("command_id", String, nullable=False),
        Column("kind", String, nullable=False),
        Column("body", String, nullable=False),
    )
    op.create_index("event_by_kind", "event", ["kind"])
