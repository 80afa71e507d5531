"""Tokens for programs."""

from alembic import op
from sqlalchemy import BigInteger, Column, String

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make their table."""
    op.create_table(
        "token",
        Column("id", BigInteger, primary_key=True, autoincrement=False),
        Column("secret_sha256", String, nullable=False, unique=True),
        Column("name", String, nullable=False),
        Column("scopes", String, nullable=False),
        Column("made_at_us", BigInteger, nullable=False),
        Column("seen_at_us", BigInteger),
        Column("revoked_at_us", BigInteger),
    )
