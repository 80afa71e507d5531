"""Who may do what, in a database of its own beside the log: secrets are kept as hashes, and told once."""

import hashlib
import os
import secrets
import unicodedata
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from sqlalchemy import Connection, Row, Table, delete, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite

from orchestrator.adapters.access_tables import (
    AUDIT,
    CODES,
    PAGE_KEY,
    PAIRINGS,
    PASSPHRASE,
    SCREENS,
    SESSIONS,
    SPARES,
    TOKENS,
)
from orchestrator.adapters.database import Database, from_micros, to_micros
from orchestrator.core.ids import CrewId
from orchestrator.ports.access import Asked, RefusedAct, Role, Scope, Screen, Spare, Token, Wish
from orchestrator.ports.event_log import Keeping, LogUnavailable

LETTERS: Final = "ABCDEFGHJKLMNPQRTUVWXYZ2346789"
"""Without those that look alike on a screen: I and 1, O and 0, S and 5."""
SHORT: Final = 6
"""Of the code on a screen: it lives for minutes and helps nobody who cannot sign in as manager."""
LONG: Final = 16
"""Of a code approved beforehand: 30^16, about 78 bits, for it lies in a drawer for months and lets in by itself."""
TOKEN_MARK: Final = "coldwright_"  # noqa: S105 - what stands before a secret
"""Before each token, so that whoever finds one in a file or a log knows what it opens."""
_MOST_WAITING: Final = 50
_ONE: Final = 1


class SqlAccessStore:
    """Implements `ports.access.AccessStore` in a SQLite file, or in the kitchen's schema of a PostgreSQL database."""

    def __init__(self, where: Path | str, *, busy_s: float = 2.0) -> None:
        """Open or create it. Raises: LogUnavailable."""
        if isinstance(where, Path):
            _make_private(where)
        self._database = Database(where, "access", busy_s=busy_s)
        # Argon2id with the second recommended parameters of RFC 9106, section 4: 64 MiB, three passes, four lanes.
        self._slow = PasswordHasher()

    def page_key(self) -> bytes:
        """What signs messages between two pages, the same for all who show this kitchen; made when first asked."""
        # The two dialects write "or leave it as it is" alike, but SQLAlchemy has it only in each of them.
        dialect: Any = sqlite if self._database.is_sqlite else postgresql
        mine = dialect.insert(PAGE_KEY).on_conflict_do_nothing()
        with self._database.writing() as connection:
            connection.execute(mine, {"one": _ONE, "hex": secrets.token_hex(32)})
            kept: str = connection.execute(select(PAGE_KEY.c.hex)).scalar_one()
        return bytes.fromhex(kept)

    # -- The manager

    def has_passphrase(self) -> bool:
        """Whether anybody must be let in at all."""
        return self._one(select(PASSPHRASE.c.one)) is not None

    def set_passphrase(self, passphrase: str, now: datetime) -> None:
        """Set the manager's passphrase; all sessions end."""
        hashed = self._slow.hash(_plain(passphrase))
        with self._database.writing() as connection:
            connection.execute(delete(PASSPHRASE))
            connection.execute(insert(PASSPHRASE), {"one": _ONE, "hash": hashed, "set_at_us": to_micros(now)})
            connection.execute(delete(SESSIONS))

    def is_passphrase(self, typed: str) -> bool:
        """Whether it is right."""
        return self._matches(self._one(select(PASSPHRASE.c.hash)), typed)

    def begin_session(self, source: str, now: datetime, until: datetime) -> str:
        """Sign the manager in. Returns: the session's secret."""
        secret = secrets.token_urlsafe(32)
        row = {"source": source[:100], "begun_at_us": to_micros(now), "until_us": to_micros(until)}
        with self._database.writing() as connection:
            connection.execute(insert(SESSIONS), {**row, "secret_sha256": sha256(secret)})
        return secret

    def session_until(self, secret: str) -> datetime | None:
        """When a session ends; none if there is none of that secret."""
        row = self._one(select(SESSIONS.c.until_us).where(SESSIONS.c.secret_sha256 == sha256(secret)))
        return None if row is None else from_micros(row[0])

    def end_session(self, secret: str) -> None:
        """Sign out."""
        with self._database.writing() as connection:
            connection.execute(delete(SESSIONS).where(SESSIONS.c.secret_sha256 == sha256(secret)))

    # -- Pairing

    def ask_to_pair(self, now: datetime, until: datetime) -> Asked:
        """A code for a screen that nobody knows yet; of too many that wait, the oldest goes."""
        asker = secrets.token_urlsafe(32)
        with self._database.writing() as connection:
            connection.execute(delete(PAIRINGS).where(PAIRINGS.c.until_us < to_micros(now)))
            waiting = select(PAIRINGS.c.asker_sha256).order_by(PAIRINGS.c.until_us.desc())
            surplus = connection.execute(waiting).scalars().all()[_MOST_WAITING - 1 :]
            connection.execute(delete(PAIRINGS).where(PAIRINGS.c.asker_sha256.in_(surplus)))
            taken = set(connection.execute(select(PAIRINGS.c.code_sha256)).scalars())
            code = _letters(SHORT)
            while sha256(code) in taken:
                code = _letters(SHORT)
            row = {"asker_sha256": sha256(asker), "code_sha256": sha256(code), "until_us": to_micros(until)}
            connection.execute(insert(PAIRINGS), row)
        return Asked(code, asker)

    def approve(self, code: str, wish: Wish, now: datetime) -> bool:
        """Let the screen in that shows this code."""
        named = {"name": wish.name, "place": wish.place, "role": wish.role.value}
        waits = (PAIRINGS.c.code_sha256 == sha256(_typed(code)), PAIRINGS.c.until_us >= to_micros(now))
        with self._database.writing() as connection:
            query = update(PAIRINGS).where(*waits, PAIRINGS.c.role.is_(None)).values(**named)
            return connection.execute(query).rowcount == 1

    def is_waiting(self, asker: str, now: datetime) -> bool:
        """Whether a screen's question still stands."""
        query = select(PAIRINGS.c.until_us).where(PAIRINGS.c.asker_sha256 == sha256(asker))
        row = self._one(query.where(PAIRINGS.c.until_us >= to_micros(now)))
        return row is not None

    def take_pairing(self, asker: str, now: datetime) -> str | None:
        """Once, after it was approved. Returns: the screen's secret."""
        mine = (PAIRINGS.c.asker_sha256 == sha256(asker), PAIRINGS.c.until_us >= to_micros(now))
        with self._database.writing() as connection:
            row = connection.execute(select(PAIRINGS).where(*mine, PAIRINGS.c.role.is_not(None))).first()
            if row is None or connection.execute(delete(PAIRINGS).where(*mine)).rowcount != 1:
                return None
            return _paired(connection, row, now, spare=False)

    def make_spares(self, wishes: Sequence[Wish], now: datetime) -> Sequence[tuple[Spare, str]]:
        """Codes approved beforehand; each is told here and nowhere else."""
        made = [(Spare(_number(), wish.name, wish.place, wish.role, now), _letters(LONG)) for wish in wishes]
        rows = [{**_named(spare), "made_at_us": to_micros(now), "code_sha256": sha256(code)} for spare, code in made]
        if rows:
            with self._database.writing() as connection:
                connection.execute(insert(SPARES), rows)
        return made

    def spares(self) -> Sequence[Spare]:
        """All that were made, newest first."""
        return [
            Spare(row.id, row.name, row.place, Role(row.role), from_micros(row.made_at_us), _at(row.used_at_us))
            for row in self._all(select(SPARES).order_by(SPARES.c.made_at_us.desc(), SPARES.c.name, SPARES.c.id))
        ]

    def drop_spare(self, spare: int) -> None:
        """An unused code is good for nothing any more."""
        with self._database.writing() as connection:
            connection.execute(delete(SPARES).where(SPARES.c.id == spare, SPARES.c.used_at_us.is_(None)))

    def use_spare(self, code: str, now: datetime) -> str | None:
        """Pair by a code approved beforehand. Returns: the screen's secret."""
        mine = (SPARES.c.code_sha256 == sha256(_typed(code)), SPARES.c.used_at_us.is_(None))
        with self._database.writing() as connection:
            row = connection.execute(select(SPARES).where(*mine)).first()
            used = update(SPARES).where(*mine).values(used_at_us=to_micros(now))
            if row is None or connection.execute(used).rowcount != 1:
                return None
            return _paired(connection, row, now, spare=True)

    # -- Screens

    def screens(self) -> Sequence[Screen]:
        """All that were ever paired, newest first."""
        return [
            _screen(row) for row in self._all(select(SCREENS).order_by(SCREENS.c.paired_at_us.desc(), SCREENS.c.id))
        ]

    def screen(self, secret: str) -> Screen | None:
        """The screen of a secret, revoked or not."""
        row = self._one(select(SCREENS).where(SCREENS.c.secret_sha256 == sha256(secret)))
        return None if row is None else _screen(row)

    def seen(self, screen: int, now: datetime) -> None:
        """It was there just now."""
        self._set(SCREENS, screen, seen_at_us=to_micros(now))

    def revoke(self, screen: int, now: datetime) -> None:
        """It may do nothing any more."""
        self._set(SCREENS, screen, revoked_at_us=to_micros(now))

    # -- Personal codes

    def codes(self) -> Mapping[CrewId, datetime]:
        """Who has a personal code, and since when."""
        return {CrewId(row.person): from_micros(row.set_at_us) for row in self._all(select(CODES))}

    def set_code(self, person: CrewId, code: str | None, now: datetime) -> None:
        """Give somebody a personal code, or take it away."""
        hashed = self._slow.hash(_plain(code)) if code is not None else None
        with self._database.writing() as connection:
            connection.execute(delete(CODES).where(CODES.c.person == person))
            if hashed is not None:
                connection.execute(insert(CODES), {"person": person, "hash": hashed, "set_at_us": to_micros(now)})

    def is_code(self, person: CrewId, typed: str) -> bool:
        """Whether it is right."""
        return self._matches(self._one(select(CODES.c.hash).where(CODES.c.person == person)), typed)

    # -- Tokens

    def make_token(self, name: str, scopes: frozenset[Scope], now: datetime) -> str:
        """A token for a program. Returns: its secret, told here and nowhere else."""
        secret = TOKEN_MARK + secrets.token_urlsafe(32)
        row = {"id": _number(), "name": name, "scopes": " ".join(sorted(scopes)), "made_at_us": to_micros(now)}
        with self._database.writing() as connection:
            connection.execute(insert(TOKENS), {**row, "secret_sha256": sha256(secret)})
        return secret

    def tokens(self) -> Sequence[Token]:
        """All that were ever made, newest first."""
        return [_token(row) for row in self._all(select(TOKENS).order_by(TOKENS.c.made_at_us.desc(), TOKENS.c.id))]

    def token(self, secret: str) -> Token | None:
        """The token of a secret, revoked or not."""
        row = self._one(select(TOKENS).where(TOKENS.c.secret_sha256 == sha256(secret)))
        return None if row is None else _token(row)

    def token_seen(self, token: int, now: datetime) -> None:
        """It was used just now."""
        self._set(TOKENS, token, seen_at_us=to_micros(now))

    def revoke_token(self, token: int, now: datetime) -> None:
        """It may do nothing any more."""
        self._set(TOKENS, token, revoked_at_us=to_micros(now))

    # -- Refused acts

    def note(self, refused: RefusedAct) -> int:
        """Keep a refused act. Returns: its number."""
        row = {"id": _number(), "at_us": to_micros(refused.at), "count": refused.count}
        told = {"source": refused.source, "who": refused.who, "what": refused.what, "reason": refused.reason}
        with self._database.writing() as connection:
            connection.execute(insert(AUDIT), {**row, **{name: text[:200] for name, text in told.items()}})
        return row["id"]

    def noted_again(self, number: int, count: int, at: datetime) -> None:
        """The same came so often by now, last at that instant."""
        self._set(AUDIT, number, count=count, at_us=to_micros(at))

    def refused(self, limit: int = 200) -> Sequence[RefusedAct]:
        """The latest, newest first."""
        rows = self._all(select(AUDIT).order_by(AUDIT.c.at_us.desc(), AUDIT.c.id).limit(limit))
        return [
            RefusedAct(from_micros(r.at_us), r.source, r.who, r.what, r.reason, r._mapping["count"], r.id) for r in rows
        ]

    def tidy(self, now: datetime, keeping: Keeping) -> int:
        """Forget what is over, and refused acts as single readings are: after `Keeping.exact`."""
        at, long_ago = to_micros(now), to_micros(now - keeping.exact)
        over = (
            delete(SESSIONS).where(SESSIONS.c.until_us < at),
            delete(PAIRINGS).where(PAIRINGS.c.until_us < at),
            delete(AUDIT).where(AUDIT.c.at_us < long_ago),
        )
        with self._database.writing() as connection:
            return sum(connection.execute(query).rowcount for query in over)

    def close(self) -> None:
        """Release the file or the connections."""
        self._database.close()

    def _matches(self, row: Row[Any] | None, typed: str) -> bool:
        if row is None:
            return False
        try:
            return self._slow.verify(row[0], _plain(typed))
        except (VerificationError, InvalidHashError):
            return False

    def _set(self, table: Table, number: int, **values: int) -> None:
        with self._database.writing() as connection:
            connection.execute(update(table).where(table.c.id == number).values(**values))

    def _one(self, query: Any) -> Row[Any] | None:
        with self._database.reading() as connection:
            found: Row[Any] | None = connection.execute(query).first()
        return found

    def _all(self, query: Any) -> Sequence[Row[Any]]:
        with self._database.reading() as connection:
            found: Sequence[Row[Any]] = connection.execute(query).all()
        return found


def sha256(secret: str) -> str:
    """Enough for secrets made by chance and long: nobody can try them all."""
    return hashlib.sha256(secret.encode()).hexdigest()


def _paired(connection: Connection, row: Row[Any], now: datetime, *, spare: bool) -> str:
    secret, at = secrets.token_urlsafe(32), to_micros(now)
    named = {"id": _number(), "name": row.name, "place": row.place, "role": row.role, "spare": int(spare)}
    connection.execute(
        insert(SCREENS), {**named, "secret_sha256": sha256(secret), "paired_at_us": at, "seen_at_us": at}
    )
    return secret


def _screen(row: Row[Any]) -> Screen:
    when = (from_micros(row.paired_at_us), _at(row.seen_at_us), _at(row.revoked_at_us))
    return Screen(row.id, row.name, row.place, Role(row.role), *when, spare=bool(row.spare))


def _token(row: Row[Any]) -> Token:
    when = (from_micros(row.made_at_us), _at(row.seen_at_us), _at(row.revoked_at_us))
    return Token(row.id, row.name, frozenset(Scope(one) for one in row.scopes.split()), *when)


def _named(spare: Spare) -> dict[str, Any]:
    return {"id": spare.id, "name": spare.name, "place": spare.place, "role": spare.role.value}


def _at(micros: int | None) -> datetime | None:
    return None if micros is None else from_micros(micros)


def _number() -> int:
    """By chance: several services on one database need not ask each other which is next."""
    return secrets.randbelow(2**40) + 1


def _letters(count: int) -> str:
    return "".join(secrets.choice(LETTERS) for _ in range(count))


def _typed(code: str) -> str:
    """As codes are made: capitals, without the dashes and spaces that people read them with."""
    return "".join(letter for letter in code.upper() if letter.isalnum())


def _plain(secret: str) -> str:
    """One way of writing accented letters: keyboards differ."""
    return unicodedata.normalize("NFKC", secret)


def _make_private(file: Path) -> None:
    """Readable by its owner only, from the start; what SQLite puts beside it takes the same rights."""
    try:
        os.close(os.open(file, os.O_CREAT | os.O_RDWR, 0o600))
    except OSError as error:
        raise LogUnavailable(f"{file} cannot be opened ({error.strerror}); give the service the right to") from error
