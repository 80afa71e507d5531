"""Old readings packed by the day, and hours of what is older still."""

from alembic import op
from sqlalchemy import BigInteger, Column, Double, LargeBinary, String

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add both tables."""
    op.create_table(
        "reading_day",
        Column("probe", String, primary_key=True),
        Column("day_us", BigInteger, primary_key=True, autoincrement=False),
        Column("readings", BigInteger, nullable=False),
        Column("packed", LargeBinary, nullable=False),
    )
    op.create_table(
        "reading_hour",
        Column("probe", String, primary_key=True),
        Column("hour_us", BigInteger, primary_key=True, autoincrement=False),
        Column("readings", BigInteger, nullable=False),
        Column("least_celsius", Double, nullable=False),
        Column("mean_celsius", Double, nullable=False),
        Column("most_celsius", Double, nullable=False),
    )
