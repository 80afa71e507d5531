"""A kept state and the events since are the whole log's state; whatever does not fit is thrown away."""

import hashlib
import io
import json
import os
import pickle
from collections.abc import Callable
from dataclasses import replace
from enum import Enum
from functools import cache
from pathlib import Path

import pytest

from orchestrator.adapters import state_snapshot
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.adapters.state_snapshot import StateSnapshot, code
from orchestrator.core.events import EVENTS, Recorded
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import CommandId
from orchestrator.core.state import LotStatus, State
from orchestrator.engine.rebuilding import EVENTS_APART, Rebuilding
from orchestrator.engine.replay import replay
from tests.browser.full_house import script
from tests.fakes.event_logs import MemoryEventLog

GOLDEN = Path(__file__).parents[1] / "core" / "golden" / "events.json"


@cache
def records() -> tuple[Recorded, ...]:
    """A kitchen with something of everything: holds, a drill, a draft, a trial, alarms, a hand-over."""
    return tuple(script().log)


@pytest.fixture
def log(tmp_path: Path) -> SqlEventLog:
    log = SqlEventLog(tmp_path / "events.db")
    log.append(records())
    return log


@pytest.fixture
def kept(tmp_path: Path, log: SqlEventLog) -> StateSnapshot:
    return StateSnapshot(tmp_path / "state.snapshot", log.chain_at)


def state_at(seq: int) -> State:
    state = State()
    for record in records()[:seq]:
        state = evolve(state, record)
    return state


def test_snapshot_and_the_events_since_are_the_state_of_the_whole_log(log: SqlEventLog, kept: StateSnapshot) -> None:
    whole = replay(log, evolve)
    assert whole == script().state
    for seq in range(1, len(records()) + 1):
        kept.keep(state_at(seq))
        found = kept.load()
        assert found == state_at(seq)
        assert replay(log, evolve, found) == whole


def test_every_kind_of_event_in_the_books_can_be_kept() -> None:
    """Whatever a state may hold of an event: each golden one, by the reader that starts no other code."""
    golden = json.loads(GOLDEN.read_text(encoding="utf-8"))
    events = [EVENTS.validate_python(_body(row)) for row in golden]
    assert len(events) > 30
    for event in events:
        assert state_snapshot._Facts(io.BytesIO(pickle.dumps(event, protocol=5))).load() == event


def _body(row: object) -> object:
    return row["event"] if isinstance(row, dict) and "event" in row else row


Spoil = Callable[[Path, pytest.MonkeyPatch], None]


def _damage(file: Path, _: pytest.MonkeyPatch) -> None:
    whole = bytearray(file.read_bytes())
    whole[-200] ^= 1
    file.write_bytes(whole)


def _cut(file: Path, _: pytest.MonkeyPatch) -> None:
    file.write_bytes(file.read_bytes()[:-1])


def _empty(file: Path, _: pytest.MonkeyPatch) -> None:
    file.write_bytes(b"")


def _other_code(_: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(state_snapshot, "code", lambda: "0" * 64)


def _newer_format(file: Path, _: pytest.MonkeyPatch) -> None:
    file.write_bytes(file.read_bytes().replace(b'"format": 1', b'"format": 2', 1))


def _claims_more(file: Path, _: pytest.MonkeyPatch) -> None:
    seq = len(records())
    file.write_bytes(file.read_bytes().replace(f'"seq": {seq}'.encode(), f'"seq": {seq + 1}'.encode(), 1))


@pytest.mark.parametrize("spoil", [_damage, _cut, _empty, _other_code, _newer_format, _claims_more])
def test_snapshot_that_does_not_fit_is_thrown_away(
    spoil: Spoil, kept: StateSnapshot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept.keep(state_at(len(records())))
    file = tmp_path / "state.snapshot"
    spoil(file, monkeypatch)
    assert kept.load() is None
    assert not file.exists()


def test_snapshot_of_another_log_is_thrown_away(tmp_path: Path, kept: StateSnapshot) -> None:
    kept.keep(state_at(len(records())))
    other = SqlEventLog(tmp_path / "other.db")
    other.append([record.model_copy(update={"command_id": CommandId(f"{record.command_id}x")}) for record in records()])
    assert StateSnapshot(tmp_path / "state.snapshot", other.chain_at).load() is None


def test_snapshot_that_would_start_other_code_does_not(tmp_path: Path, log: SqlEventLog) -> None:
    """Source: Python's documentation of pickle, whose own example of harm this is."""
    seen = tmp_path / "harm"

    class Harm:
        def __reduce__(self) -> tuple[object, ...]:
            return os.system, (f"touch {seen}",)

    body = pickle.dumps(Harm())
    chain = log.chain_at(1)
    head = {"format": 1, "code": code(), "seq": 1, "chain": chain}
    head["sha256"] = hashlib.sha256(body).hexdigest()
    file = tmp_path / "state.snapshot"
    file.write_bytes(json.dumps(head).encode() + b"\n" + body)
    assert StateSnapshot(file, log.chain_at).load() is None
    assert not seen.exists()


def test_state_is_read_back_where_enums_are_written_by_their_names(
    kept: StateSnapshot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Source: ``enum.py`` of Python 3.11.2, which Debian 12 carries."""
    monkeypatch.setattr(Enum, "__reduce_ex__", lambda member, protocol: (getattr, (type(member), member.name)))
    state = state_at(len(records()))
    kept.keep(state)
    assert b"getattr" in (tmp_path / "state.snapshot").read_bytes()
    assert kept.load() == state


@pytest.mark.parametrize(("of", "name"), [(State, "__init__"), (LotStatus, "__class__"), (LotStatus, "mro")])
def test_nothing_but_members_of_enums_is_got_by_name(of: type, name: str) -> None:
    class Reaches:
        def __reduce__(self) -> tuple[object, ...]:
            return getattr, (of, name)

    with pytest.raises(pickle.UnpicklingError, match="no place in a state"):
        state_snapshot._Facts(io.BytesIO(pickle.dumps(Reaches()))).load()


def test_state_whose_events_are_not_on_disk_is_not_kept(kept: StateSnapshot, tmp_path: Path) -> None:
    ahead = state_at(len(records()))
    kept.keep(_numbered(ahead, ahead.seq + 1))
    assert not (tmp_path / "state.snapshot").exists()


def test_state_that_cannot_be_written_down_stops_nothing(kept: StateSnapshot, log: SqlEventLog, tmp_path: Path) -> None:
    state = replay(log, evolve)
    odd = replace(state, alarms={"x": lambda: None})  # pickle says AttributeError, not PicklingError
    kept.keep(odd)
    assert not (tmp_path / "state.snapshot").exists()
    kept.keep(state)
    assert kept.load() == state


def test_file_can_be_read_by_its_owner_alone(kept: StateSnapshot, tmp_path: Path) -> None:
    kept.keep(state_at(5))
    assert (tmp_path / "state.snapshot").stat().st_mode & 0o777 == 0o600


class Counting:
    """Remembers what was kept."""

    def __init__(self, state: State | None = None) -> None:
        self.state = state
        self.kept: list[int] = []

    def load(self) -> State | None:
        return self.state

    def keep(self, state: State) -> None:
        self.kept.append(state.seq)


async def test_state_is_kept_every_so_many_events_and_at_the_end() -> None:
    log = MemoryEventLog()
    log.append(records())
    begun = state_at(10)
    snapshots = Counting(begun)
    rebuilding = Rebuilding(snapshots)
    state = rebuilding.rebuild(log, evolve)
    assert state == script().state
    rebuilding.look(state)
    assert snapshots.kept == []
    for seq in (10 + EVENTS_APART - 1, 10 + EVENTS_APART, 11 + EVENTS_APART):
        rebuilding.look(_numbered(state, seq))
    await rebuilding.close(_numbered(state, 12 + EVENTS_APART))
    await rebuilding.close(_numbered(state, 12 + EVENTS_APART))
    assert snapshots.kept == [10 + EVENTS_APART, 12 + EVENTS_APART]


def _numbered(state: State, seq: int) -> State:
    return replace(state, seq=seq)


def test_state_is_known_by_the_code_that_was_there_at_the_start_not_by_what_was_installed_since(
    tmp_path: Path, log: SqlEventLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Installed while it runs, newer code has folded nothing yet; nor has a first start any file to compare it with."""
    room = tmp_path / "orchestrator"
    (room / "core").mkdir(parents=True)
    rules = room / "core" / "rules.py"
    rules.write_text("OLD = 1\n", encoding="utf-8")
    monkeypatch.setattr(state_snapshot.orchestrator, "__file__", str(room / "__init__.py"))
    code.cache_clear()
    try:
        running = StateSnapshot(tmp_path / "state.snapshot", log.chain_at)
        assert running.load() is None
        rules.write_text("NEW = 1\n", encoding="utf-8")
        running.keep(state_at(len(records())))
        code.cache_clear()
        assert StateSnapshot(tmp_path / "state.snapshot", log.chain_at).load() is None
    finally:
        code.cache_clear()
