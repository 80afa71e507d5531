"""Tables of the questions that wait for planners, and of those planners (steps: `migrations/jobs`)."""

from sqlalchemy import BigInteger, Boolean, Column, Index, MetaData, String, Table

METADATA = MetaData()
JOBS = Table(
    "job",
    METADATA,
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
    Index("job_by_lane", "lane", "state", "asked_us"),
)
WORKERS = Table(
    "planner_worker",
    METADATA,
    Column("name", String, primary_key=True),
    Column("worker_us", BigInteger, nullable=False),
    Column("starts", BigInteger, nullable=False),
)
