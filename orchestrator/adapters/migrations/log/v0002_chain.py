"""Each record carries the hash of itself and all before it, and one writer at a time holds the pen."""

from alembic import op
from sqlalchemy import BigInteger, Column, String, text

from orchestrator.adapters.chain import START, Stored, link

revision = "0002"
down_revision = "0001"

_PAGE = 500


def upgrade() -> None:
    """Add both, and chain what is there."""
    op.add_column("event", Column("chain", String, nullable=False, server_default=START))
    op.create_table(
        "writer",
        Column("one", BigInteger, primary_key=True, autoincrement=False),
        Column("turn", BigInteger, nullable=False),
        Column("holder", String, nullable=False),
        Column("since_us", BigInteger, nullable=False),
    )
    op.execute("INSERT INTO writer (one, turn, holder, since_us) VALUES (1, 0, '', 0)")
    _chain_what_is_there()


def _chain_what_is_there() -> None:
    connection, after, chain = op.get_bind(), 0, START
    page = text(
        "SELECT seq, recorded_at_us, command_id, kind, body FROM event WHERE seq > :after ORDER BY seq LIMIT :most"
    )
    while rows := connection.execute(page, {"after": after, "most": _PAGE}).all():
        links = []
        for row in rows:
            chain = link(chain, Stored(*row))
            links.append({"at": row.seq, "chain": chain})
        connection.execute(text("UPDATE event SET chain = :chain WHERE seq = :at"), links)
        after = rows[-1].seq
