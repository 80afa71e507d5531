"""Every access store keeps this contract: in SQLite and in PostgreSQL."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import create_engine, inspect, text

from orchestrator.adapters.access_store import LETTERS, LONG, SHORT, SqlAccessStore
from orchestrator.core.ids import CrewId
from orchestrator.ports.access import RefusedAct, Role, Scope, Token, Wish
from orchestrator.ports.event_log import Keeping, LogUnavailable

AT = datetime(2026, 11, 25, 5, 0, 0, 123457, tzinfo=UTC)
SOON = AT + timedelta(minutes=10)
LATER = AT + timedelta(minutes=11)
STOVE = Wish("Stove tablet", "Stove", Role.STATION)


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> Path | str:
    if request.param == "postgresql":
        url: str = request.getfixturevalue("server").url()
        return url
    return tmp_path / "access.db"


@pytest.fixture
def make(where: Path | str) -> Iterator[Callable[[], SqlAccessStore]]:
    opened: list[SqlAccessStore] = []

    def open_it() -> SqlAccessStore:
        opened.append(SqlAccessStore(where))
        return opened[-1]

    yield open_it
    for store in opened:
        store.close()


@pytest.fixture
def store(make: Callable[[], SqlAccessStore]) -> SqlAccessStore:
    return make()


def test_passphrase_is_right_only_as_it_was_set_and_after_opening_again(make: Callable[[], SqlAccessStore]) -> None:
    store = make()
    assert not store.has_passphrase()
    assert not store.is_passphrase("")
    store.set_passphrase("crème de cassis", AT)
    again = make()
    assert again.has_passphrase()
    assert again.is_passphrase("cre\u0300me de cassis"), "an accent may be typed as a letter of its own"
    assert not again.is_passphrase("creme de cassis")
    again.set_passphrase("another one", AT)
    assert not store.is_passphrase("crème de cassis")


def test_session_lasts_until_its_end_is_signed_out_or_the_passphrase_changes(store: SqlAccessStore) -> None:
    one, other = (store.begin_session("192.0.2.7", AT, SOON) for _ in range(2))
    assert store.session_until(one) == SOON
    store.end_session(one)
    assert store.session_until(one) is None
    assert store.session_until(other) == SOON
    store.set_passphrase("another one", AT)
    assert store.session_until(other) is None
    assert store.session_until("made up") is None


def test_pairing_is_approved_by_its_code_and_taken_once_by_who_asked(store: SqlAccessStore) -> None:
    asked = store.ask_to_pair(AT, SOON)
    assert len(asked.code) == SHORT
    assert set(asked.code) <= set(LETTERS)
    assert store.take_pairing(asked.asker, AT) is None, "not approved yet"
    assert not store.approve("AAAAAA" if asked.code != "AAAAAA" else "BBBBBB", STOVE, AT)
    assert store.approve(f" {asked.code[:3].lower()}-{asked.code[3:].lower()} ", STOVE, AT)
    assert not store.approve(asked.code, STOVE, AT), "a code serves once"
    assert store.take_pairing("somebody else", AT) is None
    secret = store.take_pairing(asked.asker, AT)
    assert secret is not None
    assert store.take_pairing(asked.asker, AT) is None
    (screen,) = store.screens()
    assert (screen.name, screen.place, screen.role, screen.spare) == ("Stove tablet", "Stove", Role.STATION, False)
    assert screen.paired_at == AT
    assert store.screen(secret) == screen
    assert store.screen("made up") is None


def test_pairing_that_is_too_late_is_neither_approved_nor_taken(store: SqlAccessStore) -> None:
    late, asked = store.ask_to_pair(AT, SOON), store.ask_to_pair(AT, SOON)
    assert not store.approve(late.code, STOVE, LATER)
    assert store.is_waiting(late.asker, AT)
    assert not store.is_waiting(late.asker, LATER)
    assert store.approve(asked.code, STOVE, AT)
    assert store.take_pairing(asked.asker, LATER) is None


def test_pairings_beyond_the_most_push_out_the_oldest(store: SqlAccessStore) -> None:
    first = store.ask_to_pair(AT, SOON)
    for second in range(1, 60):
        last = store.ask_to_pair(AT, SOON + timedelta(seconds=second))
    assert not store.is_waiting(first.asker, AT)
    assert store.is_waiting(last.asker, AT)


def test_spare_pairs_one_screen_without_the_manager_and_says_when(store: SqlAccessStore) -> None:
    (spare, code), (other, other_code) = store.make_spares([STOVE, Wish("Spare 2", "", Role.VIEWER)], AT)
    assert len(code) == LONG
    assert store.use_spare("A" * LONG, AT) is None
    secret = store.use_spare(" ".join((code[:4], code[4:8], code[8:12], code[12:])).lower(), SOON)
    assert secret is not None
    assert store.use_spare(code, SOON) is None, "once"
    screen = store.screen(secret)
    assert screen is not None
    assert (screen.name, screen.role, screen.spare) == ("Stove tablet", Role.STATION, True)
    assert {one.id: one.used_at for one in store.spares()} == {spare.id: SOON, other.id: None}
    store.drop_spare(other.id)
    store.drop_spare(spare.id)
    assert [one.id for one in store.spares()] == [spare.id], "a used one stays, as a record"
    assert store.use_spare(other_code, SOON) is None


def test_spare_tried_by_many_at_once_lets_one_in(store: SqlAccessStore) -> None:
    ((_, code),) = store.make_spares([STOVE], AT)

    def use(_: int) -> bool:
        try:
            return store.use_spare(code, SOON) is not None
        except LogUnavailable:  # another had the lock for too long
            return False

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(use, range(8))) == 1
    assert len(store.screens()) == 1


def test_screen_revoked_is_known_as_such_and_seen_is_kept(store: SqlAccessStore) -> None:
    ((_, code),) = store.make_spares([STOVE], AT)
    secret = store.use_spare(code, AT) or ""
    (screen,) = store.screens()
    store.seen(screen.id, SOON)
    store.revoke(screen.id, LATER)
    found = store.screen(secret)
    assert found is not None
    assert (found.seen_at, found.revoked_at) == (SOON, LATER)


def test_personal_code_is_somebodys_own_until_it_is_taken_away(store: SqlAccessStore) -> None:
    one, other = CrewId("early-cook"), CrewId("manager")
    store.set_code(one, "4711", AT)
    store.set_code(other, "080915", SOON)
    assert store.codes() == {one: AT, other: SOON}
    assert store.is_code(one, "4711")
    assert not store.is_code(other, "4711")
    assert not store.is_code(CrewId("nobody"), "4711")
    store.set_code(one, None, LATER)
    assert store.codes() == {other: SOON}
    assert not store.is_code(one, "4711")


def test_refused_acts_are_read_newest_first_and_let_go_as_readings_are(store: SqlAccessStore) -> None:
    old = RefusedAct(AT, "192.0.2.7", "", "POST /sign-in", "wrong passphrase")
    new = RefusedAct(SOON, "192.0.2.8", "Stove tablet", "POST /orders/new", "role")
    store.note(old)
    store.noted_again(store.note(new), 4, LATER)
    told = [(one.at, one.source, one.who, one.what, one.reason, one.count) for one in store.refused()]
    assert told == [
        (LATER, "192.0.2.8", "Stove tablet", "POST /orders/new", "role", 4),
        (AT, "192.0.2.7", "", "POST /sign-in", "wrong passphrase", 1),
    ]
    assert len(store.refused(limit=1)) == 1
    assert store.tidy(SOON + timedelta(days=30), Keeping(exact=timedelta(days=30))) == 1
    assert [one.source for one in store.refused()] == ["192.0.2.8"]


def test_tidying_keeps_sessions_and_questions_that_still_stand(store: SqlAccessStore) -> None:
    secret, asked = store.begin_session("192.0.2.7", AT, SOON), store.ask_to_pair(AT, SOON)
    assert store.tidy(AT, Keeping()) == 0
    assert store.session_until(secret) == SOON
    assert store.is_waiting(asked.asker, AT)
    assert store.tidy(LATER, Keeping()) == 2
    assert store.session_until(secret) is None


def test_no_secret_stands_in_the_tables(store: SqlAccessStore, where: Path | str) -> None:
    told = ["correct horse battery", "4711", store.begin_session("192.0.2.7", AT, SOON)]
    store.set_passphrase(told[0], AT)
    told[2] = store.begin_session("192.0.2.7", AT, SOON)
    store.set_code(CrewId("early-cook"), told[1], AT)
    asked = store.ask_to_pair(AT, SOON)
    ((_, spare),) = store.make_spares([STOVE], AT)
    told += [asked.code, asked.asker, spare]
    store.approve(asked.code, STOVE, AT)
    told.append(store.take_pairing(asked.asker, AT) or "")
    told.append(store.use_spare(spare, AT) or "")
    rows = _everything(where, store)
    assert "Stove tablet" in rows, "the tables were read"
    assert rows.count("$argon2id$") == 2
    assert [secret for secret in told if secret in rows.replace(str(store.screens()[0].id), "")] == []


def _everything(where: Path | str, store: SqlAccessStore) -> str:
    engine = create_engine(f"sqlite:///{where}") if isinstance(where, Path) else store._database._engine
    found = inspect(engine)
    with engine.connect() as connection:
        return "\n".join(
            str(tuple(row))
            for table in found.get_table_names()
            for row in connection.execute(text(f'SELECT * FROM "{table}"'))
        )


def test_file_can_be_read_by_its_owner_only(tmp_path: Path) -> None:
    SqlAccessStore(tmp_path / "access.db").close()
    assert (tmp_path / "access.db").stat().st_mode & 0o077 == 0


def test_token_is_known_by_its_secret_only_and_after_opening_again(make: Callable[[], SqlAccessStore]) -> None:
    store = make()
    secret = store.make_token("Till", frozenset({Scope.ORDERS, Scope.READ}), AT)
    (token,) = make().tokens()
    assert token == Token(token.id, "Till", frozenset({Scope.ORDERS, Scope.READ}), AT)
    assert store.token(secret) == token
    assert store.token(secret[:-1]) is None
    store.token_seen(token.id, SOON)
    store.revoke_token(token.id, LATER)
    told = store.token(secret)
    assert told is not None
    assert (told.seen_at, told.revoked_at) == (SOON, LATER)
