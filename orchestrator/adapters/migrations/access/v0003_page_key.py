"""The key by which all display processes of a kitchen sign what goes from one page to the next."""

from alembic import op
from sqlalchemy import BigInteger, Column, String

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make its table."""
    op.create_table(
        "page_key",
        Column("one", BigInteger, primary_key=True, autoincrement=False),
        Column("hex", String, nullable=False),
    )
