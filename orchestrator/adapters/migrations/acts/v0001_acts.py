"""Acts that wait for the writer, and what the writer says of itself."""

from alembic import op
from sqlalchemy import BigInteger, Column, String

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make both tables."""
    op.create_table(
        "act",
        Column("command_id", String, primary_key=True),
        Column("body", String, nullable=False),
        Column("asked_us", BigInteger, nullable=False),
        Column("outcome", String, nullable=False),
    )
    op.create_table(
        "act_writer",
        Column("one", BigInteger, primary_key=True, autoincrement=False),
        Column("heard_us", BigInteger, nullable=False),
        Column("says", String, nullable=False),
    )
