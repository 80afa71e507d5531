"""Questions that wait for a planner, and the planners that were heard."""

from alembic import op
from sqlalchemy import BigInteger, Boolean, Column, String

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make both tables."""
    op.create_table(
        "job",
        Column("name", String, primary_key=True),
        Column("lane", String, nullable=False),
        Column("kitchen", String, nullable=False),
        Column("question", String, nullable=False),
        Column("asked_us", BigInteger, nullable=False),
        Column("asker_us", BigInteger, nullable=False),
        Column("state", String, nullable=False),
        Column("worker", String, nullable=False),
        Column("worker_us", BigInteger, nullable=False),
        Column("tries", BigInteger, nullable=False),
        Column("stop", Boolean, nullable=False),
        Column("betters", BigInteger, nullable=False),
        Column("better", String, nullable=False),
        Column("told", String, nullable=False),
    )
    op.create_index("job_by_lane", "job", ["lane", "state", "asked_us"])
    op.create_table(
        "planner_worker",
        Column("name", String, primary_key=True),
        Column("worker_us", BigInteger, nullable=False),
        Column("starts", BigInteger, nullable=False),
    )
