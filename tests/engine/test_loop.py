"""The single writer: durable before answered, one commit for many, repeats harmless, faults contained."""

import asyncio
import threading
from collections.abc import AsyncIterator, Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.core.commands import Command, MachineBack
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Recorded
from orchestrator.core.evolve import evolve
from orchestrator.engine import Engine
from orchestrator.engine.replay import replay
from orchestrator.ports.event_log import LogUnavailable
from tests.fakes.clocks import HandClock
from tests.fakes.event_logs import MemoryEventLog, MemoryReadings
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.rules import small_rules, stop


def make_engine(log: MemoryEventLog, clock: HandClock | None = None) -> Engine:
    clock = clock or HandClock()
    return Engine(
        rules=small_rules(),
        log=log,
        readings=MemoryReadings(),
        clock=clock,
        timers=clock.timers,
        planner=ScriptedPlanner(lambda request: None),
    )


@pytest.fixture
def log() -> MemoryEventLog:
    return MemoryEventLog()


@pytest.fixture
async def engine(log: MemoryEventLog) -> AsyncIterator[Engine]:
    made = make_engine(log)
    await made.start()
    yield made
    await made.stop()


async def test_submit_answers_with_seq_after_append(engine: Engine, log: MemoryEventLog) -> None:
    assert await engine.submit(stop("a")) == 1
    assert [r.command_id for r in log.records] == ["a"]
    assert engine.picture.state.seq == 1
    assert set(engine.picture.state.machines) == {"churn"}


async def test_submit_is_not_answered_nor_shown_before_it_is_on_disk(engine: Engine, log: MemoryEventLog) -> None:
    may_write = threading.Event()
    log.before_append = lambda records: may_write.wait(5) and None
    answer = asyncio.ensure_future(engine.submit(stop("a")))
    await asyncio.sleep(0.05)
    assert not answer.done()
    assert engine.picture.state.seq == 0
    may_write.set()
    assert await answer == 1


async def test_submit_many_while_writing_share_one_commit(engine: Engine, log: MemoryEventLog) -> None:
    may_write = threading.Event()
    log.before_append = lambda records: may_write.wait(5) and None
    answers = [asyncio.ensure_future(engine.submit(stop(f"s{n}", f"m{n}"))) for n in range(50)]
    await asyncio.sleep(0.05)
    may_write.set()
    assert await asyncio.gather(*answers) == list(range(1, 51))
    assert sum(log.commits) == 50
    assert len(log.commits) <= 3


async def test_submit_refused_writes_nothing(engine: Engine, log: MemoryEventLog) -> None:
    await engine.submit(stop("a"))
    answer = await engine.submit(stop("b"))
    assert isinstance(answer, Refusal)
    assert answer.code is RefusalCode.WRONG_STATE
    assert log.commits == [1]


async def test_submit_repeated_id_is_answered_as_before(engine: Engine, log: MemoryEventLog) -> None:
    assert await engine.submit(stop("a")) == 1
    assert await engine.submit(stop("b", "oven")) == 2
    assert await engine.submit(stop("a")) == 1
    assert len(log.records) == 2


async def test_submit_repeated_in_one_commit_is_done_once(engine: Engine, log: MemoryEventLog) -> None:
    assert await asyncio.gather(*(engine.submit(stop("a")) for _ in range(10))) == [1] * 10
    assert len(log.records) == 1


async def test_log_unavailable_refuses_and_keeps_last_good_state(engine: Engine, log: MemoryEventLog) -> None:
    await engine.submit(stop("a"))
    log.fail = LogUnavailable("events.db cannot grow: the disk is full; free some space on the disk")
    answer = await engine.submit(stop("b", "oven"))
    assert isinstance(answer, Refusal)
    assert answer.code is RefusalCode.UNAVAILABLE
    assert "disk is full" in answer.status
    assert engine.picture.state.seq == 1
    assert not engine.picture.linked
    log.fail = None
    assert await engine.submit(stop("b", "oven")) == 2
    assert engine.picture.linked
    assert engine.picture.trouble == ""


async def test_log_unavailable_comes_back_by_itself(engine: Engine, log: MemoryEventLog) -> None:
    log.fail = LogUnavailable("locked")
    await engine.submit(stop("a"))
    log.fail = None
    async with asyncio.timeout(5):
        while not engine.picture.linked:
            await asyncio.sleep(0.02)
    assert await engine.submit(stop("b", "oven")) == 1


async def test_rule_broken_stops_engine_and_says_so(engine: Engine, log: MemoryEventLog) -> None:
    await engine.submit(stop("a"))
    broken = await engine.submit(stop("b", "broken"))
    after = await engine.submit(stop("c", "oven"))
    assert isinstance(broken, Refusal)
    assert isinstance(after, Refusal)
    assert after.code is RefusalCode.UNAVAILABLE
    assert not engine.picture.linked
    assert "a rule is broken" in engine.picture.trouble
    assert len(log.records) == 1


async def test_stop_in_middle_of_commit_sees_it_through(log: MemoryEventLog) -> None:
    engine = make_engine(log)
    await engine.start()
    may_write = threading.Event()
    log.before_append = lambda records: may_write.wait(5) and None
    answer = asyncio.ensure_future(engine.submit(stop("a")))
    queued = asyncio.ensure_future(engine.submit(stop("b", "oven")))
    await asyncio.sleep(0.05)
    late = asyncio.ensure_future(engine.submit(stop("late", "hob-1")))
    await asyncio.sleep(0)
    ending = asyncio.ensure_future(engine.stop())
    await asyncio.sleep(0.05)
    may_write.set()
    await ending
    assert await answer == 1
    assert await queued == 2
    refused = await late
    assert isinstance(refused, Refusal)
    assert [r.command_id for r in log.records] == ["a", "b"]


async def test_start_replays_log_and_repeats_are_still_known(log: MemoryEventLog) -> None:
    first = make_engine(log)
    await first.start()
    await first.submit(stop("a"))
    await first.submit(stop("b", "oven"))
    state = first.picture.state
    await first.stop()
    second = make_engine(log)
    await second.start()
    assert second.picture.state == state
    assert await second.submit(stop("a")) == 1
    await second.stop()


async def test_start_log_with_gap_is_refused(log: MemoryEventLog) -> None:
    engine = make_engine(log)
    await engine.start()
    for n in range(3):
        await engine.submit(stop(f"{n}", f"m{n}"))
    await engine.stop()
    del log.records[1]
    with pytest.raises(LogUnavailable, match="jumps from record 1 to 3"):
        await make_engine(log).start()


async def test_changes_are_told_once_a_turn_and_not_after_unfollowing(engine: Engine) -> None:
    told: list[int] = []
    unfollow = engine.follow(lambda: told.append(engine.picture.version))
    before = engine.picture.version
    await asyncio.gather(*(engine.submit(stop(f"{n}", f"m{n}")) for n in range(20)))
    await asyncio.sleep(0.01)
    assert told
    assert told[-1] == engine.picture.version > before
    assert told == sorted(set(told))
    unfollow()
    told.clear()
    await engine.submit(stop("z", "oven"))
    await asyncio.sleep(0.01)
    assert told == []


_COMMANDS = st.lists(
    st.tuples(st.sampled_from(["stop", "back"]), st.integers(0, 12), st.sampled_from(["churn", "oven", "hob-1"])),
    max_size=25,
)


def _command(what: str, number: int, machine: str) -> Command:
    if what == "stop":
        return stop(f"c{number}", machine)
    return MachineBack.model_validate({"command_id": f"c{number}", "equipment": machine})


@given(_COMMANDS)
@settings(max_examples=40, deadline=None)
def test_replay_equals_live_whatever_was_sent(sent: Sequence[tuple[str, int, str]]) -> None:
    async def live() -> None:
        log = MemoryEventLog()
        engine = make_engine(log)
        await engine.start()
        await asyncio.gather(*(engine.submit(_command(*command)) for command in sent))
        state = engine.picture.state
        await engine.stop()
        assert replay(log, evolve) == state
        folded = replay(MemoryEventLog(), evolve)
        for record in log.records:
            folded = evolve(folded, record)
        assert folded == state
        assert [r.seq for r in log.records] == list(range(1, len(log.records) + 1))
        assert len({r.command_id for r in log.records}) == len(log.records)

    asyncio.run(live())


def test_record_type_survives_json() -> None:
    record = Recorded.model_validate(
        {
            "seq": 1,
            "at": "2026-11-25T06:00:00Z",
            "command_id": "a",
            "event": {"kind": "machine_returned", "equipment": "oven", "at": "2026-11-25T06:00:00Z", "person": None},
        }
    )
    assert Recorded.model_validate_json(record.model_dump_json()) == record
