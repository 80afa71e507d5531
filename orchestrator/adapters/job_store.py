"""Questions to planners in a PostgreSQL database: asked by kitchens, taken by workers, each by one at a time.

Whoever takes a question locks its row for the moment of taking and passes over rows that others lock (``FOR UPDATE SKIP
LOCKED``). From then on worker and asker each say now and then that they live, by the server's clock, which all share:
a question whose worker fell silent is taken again, one whose asker fell silent is dropped. Whatever a worker writes
counts only while the question is still its own.

Source: PostgreSQL documentation, SELECT, "The Locking Clause".
"""

from dataclasses import dataclass
from typing import Final, Literal
from uuid import uuid4

from sqlalchemy import BigInteger, ColumnElement, and_, cast, delete, func, insert, or_, select, update
from sqlalchemy.dialects.postgresql import insert as upsert
from sqlalchemy.engine import make_url

from orchestrator.adapters.database import Database
from orchestrator.adapters.database_address import Address
from orchestrator.adapters.job_tables import JOBS, WORKERS
from orchestrator.ports.event_log import LogUnavailable

Lane = Literal["quick", "plan", "question"]
"""Short ones, plans that are searched for, and everything else that is: none waits for another lane's."""
State = Literal["waiting", "taken", "answered", "failed", "gone"]
LOST_US: Final = 10_000_000
"""A worker not heard for so long is lost."""
ASKER_LOST_US: Final = 30_000_000
MOST_TRIES: Final = 3
"""A question that so many workers died over is not given to another."""
_OLD_US: Final = 3_600_000_000
_SCHEMA: Final = "coldwright_jobs"
"""Of all kitchens of a database together: a worker serves them all."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How a question stands, for whoever asked it."""

    state: State
    betters: int
    """How many better plans were found so far."""
    better: str
    """The last of them, as JSON."""
    told: str
    """The answer as JSON, or why there is none."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A question as its worker has it."""

    name: str
    question: str
    """As JSON."""
    turn: int
    """The how manieth worker has it: what an earlier one still writes does not count."""


def _now() -> ColumnElement[int]:
    """The server's clock, in microseconds since 1970; not the transaction's beginning."""
    return cast(func.extract("epoch", func.clock_timestamp()) * 1_000_000, BigInteger)


class JobStore:
    """The questions of a database. Every method blocks: call them from a thread."""

    def __init__(self, url: str) -> None:
        """Open it, making its tables.

        Raises:
            LogUnavailable: it is no PostgreSQL address, or cannot be reached.
        """
        address = Address.of(url)
        if address.file is not None or not address.schema:
            raise LogUnavailable("questions to planners go through PostgreSQL alone: name one, or plan in children")
        self.kitchen = address.schema
        shared = make_url(url).update_query_dict({"kitchen": _SCHEMA})
        self._database = Database(shared.render_as_string(hide_password=False), "jobs")

    @property
    def name(self) -> str:
        """Of the database, for people: never a password."""
        return self._database.name

    # -- who asks

    def ask(self, lane: Lane, question: str) -> str:
        """Put a question down. Returns: its name."""
        name = uuid4().hex
        row = {"name": name, "lane": lane, "kitchen": self.kitchen, "question": question, "state": "waiting"}
        blank = {"worker": "", "worker_us": 0, "tries": 0, "stop": False, "betters": 0, "better": "", "told": ""}
        with self._database.writing() as connection:
            ended = and_(JOBS.c.state.in_(("answered", "failed")), JOBS.c.asker_us < _now() - ASKER_LOST_US)
            connection.execute(delete(JOBS).where(or_(ended, JOBS.c.asked_us < _now() - _OLD_US)))
            connection.execute(insert(JOBS).values(**row, **blank, asked_us=_now(), asker_us=_now()))
        return name

    def look(self, name: str, *, beat: bool) -> Progress:
        """How it stands; with ``beat``, say too that its asker lives."""
        columns = (JOBS.c.state, JOBS.c.betters, JOBS.c.better, JOBS.c.told)
        with self._database.writing() as connection:
            if beat:
                connection.execute(update(JOBS).where(JOBS.c.name == name).values(asker_us=_now()))
            row = connection.execute(select(*columns).where(JOBS.c.name == name)).first()
        return Progress("gone", 0, "", "") if row is None else Progress(*row)

    def drop(self, name: str) -> None:
        """Nobody waits for it any more: whoever works at it stops."""
        with self._database.writing() as connection:
            connection.execute(update(JOBS).where(JOBS.c.name == name, JOBS.c.state == "taken").values(stop=True))
            connection.execute(delete(JOBS).where(JOBS.c.name == name, JOBS.c.state != "taken"))

    def workers(self) -> list[tuple[str, int]]:
        """Names of the workers that live, each with how often its processes were started."""
        with self._database.reading() as connection:
            alive = select(WORKERS.c.name, WORKERS.c.starts).where(WORKERS.c.worker_us > _now() - LOST_US)
            return [(row.name, row.starts) for row in connection.execute(alive.order_by(WORKERS.c.name))]

    # -- who answers

    def beat(self, worker: str, starts: int) -> None:
        """This worker lives."""
        row = upsert(WORKERS).values(name=worker, worker_us=_now(), starts=starts)
        row = row.on_conflict_do_update(index_elements=["name"], set_={"worker_us": _now(), "starts": starts})
        with self._database.writing() as connection:
            connection.execute(delete(WORKERS).where(WORKERS.c.worker_us < _now() - _OLD_US))
            connection.execute(row)

    def leave(self, worker: str) -> None:
        """This worker ends: what it has goes to others at once."""
        with self._database.writing() as connection:
            connection.execute(delete(WORKERS).where(WORKERS.c.name == worker))
            mine = update(JOBS).where(JOBS.c.worker == worker, JOBS.c.state == "taken")
            connection.execute(mine.values(state="waiting", tries=JOBS.c.tries - 1))

    def take(self, lane: Lane, worker: str) -> Taken | None:
        """The oldest question of a lane that nobody works at; none where there is none."""
        lost = and_(JOBS.c.state == "taken", JOBS.c.worker_us < _now() - LOST_US)
        open_ = and_(JOBS.c.lane == lane, or_(JOBS.c.state == "waiting", lost))
        with self._database.writing() as connection:
            given_up = and_(open_, JOBS.c.tries >= MOST_TRIES)
            words = f"{MOST_TRIES} workers ended before they answered"
            connection.execute(update(JOBS).where(given_up).values(state="failed", told=words))
            connection.execute(delete(JOBS).where(open_, or_(JOBS.c.stop, JOBS.c.asker_us < _now() - ASKER_LOST_US)))
            oldest = select(JOBS.c.name).where(open_).order_by(JOBS.c.asked_us).limit(1)
            name = connection.execute(oldest.with_for_update(skip_locked=True)).scalar()
            if name is None:
                return None
            mine = update(JOBS).where(JOBS.c.name == name)
            mine = mine.values(state="taken", worker=worker, worker_us=_now(), tries=JOBS.c.tries + 1)
            row = connection.execute(mine.returning(JOBS.c.name, JOBS.c.question, JOBS.c.tries)).one()
        return Taken(*row)

    def keep(self, job: Taken, worker: str, betters: int, better: str) -> bool:
        """Say that its worker lives, and what was found so far. Returns: whether to go on."""
        found = {"worker_us": _now(), "betters": betters, "better": better}
        wanted = and_(~JOBS.c.stop, JOBS.c.asker_us > _now() - ASKER_LOST_US)
        with self._database.writing() as connection:
            still = update(JOBS).where(*_own(job, worker), wanted).values(**found)
            return connection.execute(still).rowcount == 1

    def finish(self, job: Taken, worker: str, state: Literal["answered", "failed"], told: str) -> bool:
        """Put the answer down, or why there is none. Returns: whether it counted."""
        with self._database.writing() as connection:
            unwanted = or_(JOBS.c.stop, JOBS.c.asker_us < _now() - ASKER_LOST_US)  # nobody waits for it
            connection.execute(delete(JOBS).where(*_own(job, worker), unwanted))
            done = update(JOBS).where(*_own(job, worker)).values(state=state, told=told)
            return connection.execute(done).rowcount == 1

    def close(self) -> None:
        """Release the connections."""
        self._database.close()


def _own(job: Taken, worker: str) -> tuple[ColumnElement[bool], ...]:
    mine = (JOBS.c.name == job.name, JOBS.c.worker == worker, JOBS.c.tries == job.turn)
    return (*mine, JOBS.c.state == "taken")
