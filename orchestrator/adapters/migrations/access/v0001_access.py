"""Passphrase, sessions, screens, codes and refused acts."""

from alembic import op
from sqlalchemy import BigInteger, Column, String

revision = "0001"
down_revision = None


def _named() -> tuple[Column[str], Column[str], Column[str]]:
    return Column("name", String, nullable=False), Column("place", String, nullable=False), _role()


def _role() -> Column[str]:
    return Column("role", String, nullable=False)


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "passphrase",
        Column("one", BigInteger, primary_key=True, autoincrement=False),
        Column("hash", String, nullable=False),
        Column("set_at_us", BigInteger, nullable=False),
    )
    op.create_table(
        "session",
        Column("secret_sha256", String, primary_key=True),
        Column("source", String, nullable=False),
        Column("begun_at_us", BigInteger, nullable=False),
        Column("until_us", BigInteger, nullable=False),
    )
    _screens()
    op.create_table(
        "personal_code",
        Column("person", String, primary_key=True),
        Column("hash", String, nullable=False),
        Column("set_at_us", BigInteger, nullable=False),
    )
    op.create_table(
        "audit",
        Column("id", BigInteger, primary_key=True, autoincrement=False),
        Column("at_us", BigInteger, nullable=False),
        Column("source", String, nullable=False),
        Column("who", String, nullable=False),
        Column("what", String, nullable=False),
        Column("reason", String, nullable=False),
        Column("count", BigInteger, nullable=False),
    )


def _screens() -> None:
    op.create_table(
        "screen",
        Column("id", BigInteger, primary_key=True, autoincrement=False),
        Column("secret_sha256", String, nullable=False, unique=True),
        *_named(),
        Column("paired_at_us", BigInteger, nullable=False),
        Column("seen_at_us", BigInteger),
        Column("revoked_at_us", BigInteger),
        Column("spare", BigInteger, nullable=False),
    )
    op.create_table(
        "pairing",
        Column("asker_sha256", String, primary_key=True),
        Column("code_sha256", String, nullable=False, unique=True),
        Column("until_us", BigInteger, nullable=False),
        Column("name", String),
        Column("place", String),
        Column("role", String),
    )
    op.create_table(
        "spare",
        Column("id", BigInteger, primary_key=True, autoincrement=False),
        Column("code_sha256", String, nullable=False, unique=True),
        *_named(),
        Column("made_at_us", BigInteger, nullable=False),
        Column("used_at_us", BigInteger),
    )
