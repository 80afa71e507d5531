"""The tables of who may do what: secrets stand in them as hashes only."""

from typing import Final

from sqlalchemy import BigInteger, Column, MetaData, String, Table

METADATA: Final = MetaData()
PASSPHRASE: Final = Table(
    "passphrase",
    METADATA,
    Column("one", BigInteger, primary_key=True, autoincrement=False),
    Column("hash", String, nullable=False),
    Column("set_at_us", BigInteger, nullable=False),
)
SESSIONS: Final = Table(
    "session",
    METADATA,
    Column("secret_sha256", String, primary_key=True),
    Column("source", String, nullable=False),
    Column("begun_at_us", BigInteger, nullable=False),
    Column("until_us", BigInteger, nullable=False),
)
SCREENS: Final = Table(
    "screen",
    METADATA,
    Column("id", BigInteger, primary_key=True, autoincrement=False),
    Column("secret_sha256", String, nullable=False, unique=True),
    Column("name", String, nullable=False),
    Column("place", String, nullable=False),
    Column("role", String, nullable=False),
    Column("paired_at_us", BigInteger, nullable=False),
    Column("seen_at_us", BigInteger),
    Column("revoked_at_us", BigInteger),
    Column("spare", BigInteger, nullable=False),
)
PAIRINGS: Final = Table(
    "pairing",
    METADATA,
    Column("asker_sha256", String, primary_key=True),
    Column("code_sha256", String, nullable=False, unique=True),
    Column("until_us", BigInteger, nullable=False),
    Column("name", String),
    Column("place", String),
    Column("role", String),
)
SPARES: Final = Table(
    "spare",
    METADATA,
    Column("id", BigInteger, primary_key=True, autoincrement=False),
    Column("code_sha256", String, nullable=False, unique=True),
    Column("name", String, nullable=False),
    Column("place", String, nullable=False),
    Column("role", String, nullable=False),
    Column("made_at_us", BigInteger, nullable=False),
    Column("used_at_us", BigInteger),
)
CODES: Final = Table(
    "personal_code",
    METADATA,
    Column("person", String, primary_key=True),
    Column("hash", String, nullable=False),
    Column("set_at_us", BigInteger, nullable=False),
)
TOKENS: Final = Table(
    "token",
    METADATA,
    Column("id", BigInteger, primary_key=True, autoincrement=False),
    Column("secret_sha256", String, nullable=False, unique=True),
    Column("name", String, nullable=False),
    Column("scopes", String, nullable=False),
    Column("made_at_us", BigInteger, nullable=False),
    Column("seen_at_us", BigInteger),
    Column("revoked_at_us", BigInteger),
)
AUDIT: Final = Table(
    "audit",
    METADATA,
    Column("id", BigInteger, primary_key=True, autoincrement=False),
    Column("at_us", BigInteger, nullable=False),
    Column("source", String, nullable=False),
    Column("who", String, nullable=False),
    Column("what", String, nullable=False),
    Column("reason", String, nullable=False),
    Column("count", BigInteger, nullable=False),
)
PAGE_KEY: Final = Table(
    "page_key",
    METADATA,
    Column("one", BigInteger, primary_key=True, autoincrement=False),
    Column("hex", String, nullable=False),
)
"""The one secret that stands here itself: it signs sentences that go from page to page, and opens nothing. No backup
has it."""
